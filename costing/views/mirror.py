"""What is behind, on the home page: twelve months of a lesson hour as a picture, and the table behind it."""

from collections.abc import Sequence
from typing import NamedTuple

from django.urls import reverse

from config.charts.months import MonthsStacked
from config.showing import pence_as_pounds
from costing.charts import beside_median, days_of, groups_in, median_of, months_stacked, statement_of
from costing.core.catalogue.costs import CostGroup, asked_for
from costing.months import MonthsReport
from costing.report import OwnBesideGroup


class MonthRow(NamedTuple):
    """One month, or the year, as the table says it: the figure, the group's, and each group of costs; or why not.

    ``to`` is the address of its statement; "" without a car in service. Each cell has its figure and the address of the
    entries that it rests on, or "".
    """

    title: str
    to: str
    cells: list[tuple[str, str]]
    lacks: str


class Mirror(NamedTuple):
    """The figure with what it is of, the picture, and the table: a column for each group, the year as its last row.

    ``beside`` says how the figure compares with the group's of the same days; "" while the group has none.
    ``missing`` is what the book lacks of the year.
    """

    figure: int
    of: str
    beside: str
    estimated: bool
    picture: MonthsStacked
    groups: list[CostGroup]
    rows: list[MonthRow]
    missing: tuple[str, ...]


def mirror_of(report: MonthsReport) -> Mirror | None:
    """The mirror with the year's figure, or the last month's that is known; None while there is none of any month."""
    told = [month for month in report.months if month.own.cost_per_lesson_hour is not None]
    if not told:
        return None
    shown = report.year if report.year.own.cost_per_lesson_hour is not None else told[-1]
    groups = groups_in(told)
    statement, entries = reverse("costing:statement"), reverse("costing:behind-figure")
    return Mirror(
        figure=shown.own.cost_per_lesson_hour or 0,
        of=f"12 months to {shown.period.last:%B}" if shown is report.year else shown.title,
        beside=_beside(shown, is_short=True),
        estimated=shown.own.estimated,
        picture=months_stacked(report.months, finding(shown), statement),
        groups=groups,
        rows=[_row(month, groups, statement, entries) for month in [*report.months, report.year]],
        missing=report.year.own.reasons,
    )


def _row(month: OwnBesideGroup, groups: Sequence[CostGroup], statement: str, entries: str) -> MonthRow:
    """One row, whose links lead to the pages of the statement and of the entries behind a figure."""
    own, median_of_group = month.own, median_of(month)
    is_year = month.period.first.month != month.period.last.month
    title = "12 months" if is_year else f"{month.period.first:%b %Y}"
    to = statement_of(month, statement)
    beside = "not shown" if median_of_group is None else pence_as_pounds(median_of_group), ""
    if own.cost_per_lesson_hour is None:
        reasons = "; ".join(own.reasons)
        return MonthRow(title, to, [("not known", ""), beside], reasons[:1].upper() + reasons[1:])
    behind = f"{entries}?{days_of(month)}&category="
    slices = [
        (pence_as_pounds(own.by_group[group]), behind + asked_for(group)) if group in own.by_group else ("", "")
        for group in groups
    ]
    return MonthRow(title, to, [(pence_as_pounds(own.cost_per_lesson_hour), ""), beside, *slices], "")


def finding(shown: OwnBesideGroup) -> str:
    """What a period shows, in a sentence without its full stop."""
    figure = shown.own.cost_per_lesson_hour
    if figure is None:
        return f"{shown.title}: your lesson hour is not known"
    words = f"{shown.title}: a lesson hour cost {pence_as_pounds(figure)}"
    compared = _beside(shown)
    return f"{words}, {compared}" if compared else words


def _beside(shown: OwnBesideGroup, *, is_short: bool = False) -> str:
    """How the own lesson hour of a period compares with the group's of the same days; "" where either is not known."""
    figure = shown.own.cost_per_lesson_hour
    return beside_median(figure, shown.group, is_short=is_short) if figure is not None and shown.group else ""
