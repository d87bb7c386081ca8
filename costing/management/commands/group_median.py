"""The group's median over a closed month or the 12 that end with it."""

from datetime import date
from typing import Any

from django.core.management.base import CommandParser

from config import showing
from config.commands import BookCommand, DataSaysNo, month
from costing.closing import NotClosedYet, ensure_closed
from costing.core.group import Shown
from costing.core.money import to_pounds
from costing.models import Span
from costing.report import group_view
from instructors.queries import cooperative

#: The figures by the names the answer gives them, with the words of the table.
FIGURES = {
    "median_cost_per_lesson_hour": "Median cost per lesson hour",
    "median_cost_per_mile": "Median cost per mile",
    "lower_quartile_cost_per_lesson_hour": "Lower quartile, per lesson hour",
    "upper_quartile_cost_per_lesson_hour": "Upper quartile, per lesson hour",
}


class Command(BookCommand):
    help = "Print the group's median costs; a month past its closing day is closed when first asked for."

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("--month", dest="first", type=month, required=True, metavar="YYYY-MM")
        parser.add_argument("--span", choices=Span.values, default=Span.MONTH)

    def handle(self, *args: Any, first: date, span: str, json: bool, **options: Any) -> None:
        while (view := group_view(first, span, cooperative())) is None:
            try:
                ensure_closed(first)
            except NotClosedYet as refusal:
                raise DataSaysNo(f"{refusal}: by then its last fills and lessons can be in.") from refusal
        if json:
            self.print_json(_plain(first, span, view))
        else:
            self._print_for_a_person(first, span, view)

    def _print_for_a_person(self, first: date, span: str, view: Shown) -> None:
        title = showing.month(first)
        self.stdout.write(title if span == Span.MONTH else f"12 months to {title}")
        self.stdout.write(f"{view.contributors} contribute, {view.out} are out; {view.minimum} are needed.")
        if not view.suppressed:
            step = f"{view.rounded_to}p a lesson hour and {view.mile_rounded_to}p a mile"
            self.stdout.write(f"Rounded to {step}.")
            rows = [[words, _shown(getattr(view, name))] for name, words in FIGURES.items()]
            self.print_table(["figure", "amount"], rows)
        elif view.contributors < view.minimum:
            self.stdout.write("Too few contribute to show anything: a median of so few could give one away.")
        else:
            self.stdout.write("Not kept: with its months it could have given one member's cost away.")


def _shown(pence: int | None) -> str:
    return "too few for it" if pence is None else showing.pence_as_pounds(pence)


def _plain(first: date, span: str, view: Shown) -> dict[str, Any]:
    amounts = {name: getattr(view, name) for name in FIGURES}
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
