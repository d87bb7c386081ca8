"""``manage.py group_median``: the group's median over a closed month, or the 12 months that end with it."""

from datetime import date
from typing import Any

from django.core.management.base import CommandParser

from config import showing
from config.commands import BookCommand, DataSaysNo, month
from costing.closing import NotClosedYet, ensure_closed
from costing.core.group import CLOSED_FIGURES, QUARTILE_MINIMUM, Shown
from costing.core.money import to_pounds
from costing.models import Span
from costing.report import group_view
from instructors.queries import cooperative

#: What the table calls each of `CLOSED_FIGURES`, in their order.
_FIGURE_WORDS = (
    "Median cost per lesson hour",
    "Median cost per mile",
    "Lower quartile, per lesson hour",
    "Upper quartile, per lesson hour",
)


class Command(BookCommand):
    help = "Print the group's median costs. A month past its closing day is closed when you first ask for it."

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("--month", dest="first", type=month, required=True, metavar="YYYY-MM")
        parser.add_argument("--span", choices=Span.values, default=Span.MONTH)

    def handle(self, *args: Any, first: date, span: str, json: bool, **options: Any) -> None:
        while (view := group_view(first, span, cooperative())) is None:
            try:
                ensure_closed(first)
            except NotClosedYet as refusal:
                raise DataSaysNo(f"{refusal}, when its last fills and lessons should be in.") from refusal
        if json:
            self.print_json(_plain(first, span, view))
        else:
            self._print_for_a_person(first, span, view)

    def _print_for_a_person(self, first: date, span: str, view: Shown) -> None:
        title = showing.month(first)
        self.stdout.write(title if span == Span.MONTH else f"12 months to {title}")
        self.stdout.write(f"Contributors: {view.contributors} (at least {view.minimum} needed). Left out: {view.out}.")
        if not view.suppressed:
            step = f"{view.rounded_to}p a lesson hour and {view.mile_rounded_to}p a mile"
            self.stdout.write(f"Rounded to the nearest {step}.")
            named = zip(CLOSED_FIGURES, _FIGURE_WORDS, strict=True)
            rows = [[words, _shown(getattr(view, name), view.contributors)] for name, words in named]
            self.print_table(["figure", "amount"], rows)
        elif view.contributors < view.minimum:
            self.stdout.write("Too few members contributed: a median of so few could give somebody's cost away.")
        else:
            self.stdout.write(
                "Not stored: with the months and years closed before, it could have given one member's cost away."
            )


def _shown(pence: int | None, contributors: int) -> str:
    """A figure's amount, or why a quartile has none: the medians beside it are there."""
    if pence is not None:
        return showing.pence_as_pounds(pence)
    return (
        "too few contributors" if contributors < QUARTILE_MINIMUM else "not stored: it could give somebody's cost away"
    )


def _plain(first: date, span: str, view: Shown) -> dict[str, Any]:
    amounts = {name: getattr(view, name) for name in CLOSED_FIGURES}
    return {
        "month": f"{first:%Y-%m}",
        "span": span,
        "contributors": view.contributors,
        "out": view.out,
        "minimum": view.minimum,
        **{name: None if pence is None else str(to_pounds(pence)) for name, pence in amounts.items()},
        "suppressed": view.suppressed,
        "rounded_to": view.rounded_to,
    }
