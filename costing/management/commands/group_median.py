"""The group's median over a closed month or the 12 that end with it."""

from datetime import date
from typing import Any

from django.core.management.base import CommandParser

from config import showing
from config.commands import BookCommand, DataSaysNo, month
from costing.closing import MonthNotOver
from costing.core.money import to_pounds
from costing.models import Span
from costing.report import GroupView, group_view
from instructors.queries import cooperative

#: The figures by the names the answer gives them, with the words of the table.
FIGURES = {
    "median_cost_per_lesson": "Median cost per lesson",
    "median_cost_per_lesson_hour": "Median cost per lesson hour",
    "median_cost_per_mile": "Median cost per mile",
    "lower_quartile_cost_per_lesson_hour": "Lower quartile, per lesson hour",
    "upper_quartile_cost_per_lesson_hour": "Upper quartile, per lesson hour",
}


class Command(BookCommand):
    help = "Print the group's median costs; a month that is over is closed when first asked for."

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("--month", dest="first", type=month, required=True, metavar="YYYY-MM")
        parser.add_argument("--span", choices=Span.values, default=Span.MONTH)

    def handle(self, *args: Any, first: date, span: str, json: bool, **options: Any) -> None:
        try:
            view = group_view(first, span, cooperative())
        except MonthNotOver as refusal:
            raise DataSaysNo(f"{refusal}: a month is closed once it has ended.") from refusal
        if json:
            self.print_json(_plain(first, span, view))
            return
        title = showing.month(first)
        self.stdout.write(title if span == Span.MONTH else f"12 months to {title}")
        self.stdout.write(f"{view.contributor_count} contribute; {view.minimum} are needed.")
        if view.suppressed:
            self.stdout.write("Too few contribute to show anything: a median of so few could give one away.")
            return
        self.print_table(
            ["figure", "amount"], [[words, _shown(getattr(view, name))] for name, words in FIGURES.items()]
        )


def _shown(pence: int | None) -> str:
    return "too few for it" if pence is None else showing.pounds(pence)


def _plain(first: date, span: str, view: GroupView) -> dict[str, Any]:
    amounts = {name: getattr(view, name) for name in FIGURES}
    return {
        "month": f"{first:%Y-%m}",
        "span": span,
        "contributors": view.contributor_count,
        "minimum": view.minimum,
        **{name: None if pence is None else str(to_pounds(pence)) for name, pence in amounts.items()},
        "suppressed": view.suppressed,
    }
