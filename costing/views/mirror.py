"""What is behind, on the home page: twelve months of a lesson hour as a picture, and the table behind it."""

from collections.abc import Sequence
from statistics import median
from typing import NamedTuple

from django.urls import reverse

from config.charts.months import Across, Column, Group, MonthsStacked
from config.showing import hours, pence_as_pounds
from costing.core.catalogue.costs import CostGroup, asked_for
from costing.months import MonthsReport
from costing.report import OwnBesideGroup

#: A month is odd if it lies above the middle of the year by more than one part in so many.
_ODD = 6
_MOST_NOTES = 2


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

    ``missing`` is what the book lacks of the year.
    """

    figure: int
    of: str
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
    groups = [group for group in CostGroup if any(group in month.own.by_group for month in told)]
    statement, entries = reverse("costing:statement"), reverse("costing:behind-figure")
    return Mirror(
        figure=shown.own.cost_per_lesson_hour or 0,
        of=f"12 months to {shown.period.last:%B}" if shown is report.year else shown.title,
        estimated=shown.own.estimated,
        picture=_picture(report, shown, groups, statement),
        groups=groups,
        rows=[_row(month, groups, statement, entries) for month in [*report.months, report.year]],
        missing=report.year.own.reasons,
    )


def _row(month: OwnBesideGroup, groups: Sequence[CostGroup], statement: str, entries: str) -> MonthRow:
    """One row, whose links lead to the pages of the statement and of the entries behind a figure."""
    own, median_of_group = month.own, _median_of(month)
    is_year = month.period.first.month != month.period.last.month
    title = "12 months" if is_year else f"{month.period.first:%b %Y}"
    to = _statement_of(month, statement)
    beside = "not shown" if median_of_group is None else pence_as_pounds(median_of_group), ""
    if own.cost_per_lesson_hour is None:
        reasons = "; ".join(own.reasons)
        return MonthRow(title, to, [("not known", ""), beside], reasons[:1].upper() + reasons[1:])
    behind = f"{entries}?{_days(month)}&category="
    slices = [
        (pence_as_pounds(own.by_group[group]), behind + asked_for(group)) if group in own.by_group else ("", "")
        for group in groups
    ]
    return MonthRow(title, to, [(pence_as_pounds(own.cost_per_lesson_hour), ""), beside, *slices], "")


def _statement_of(month: OwnBesideGroup, page: str) -> str:
    """The address of the statement of a month or year, on its ``page``; "" without a car in service."""
    return f"{page}?{_days(month)}" if month.own.in_service else ""


def _days(month: OwnBesideGroup) -> str:
    return f"first={month.period.first}&last={month.period.last}"


def _median_of(month: OwnBesideGroup) -> int | None:
    return month.group.median_cost_per_lesson_hour if month.group else None


def _picture(report: MonthsReport, shown: OwnBesideGroup, groups: Sequence[CostGroup], statement: str) -> MonthsStacked:
    notes = _notes(report.months)
    line = tuple(_median_of(month) for month in report.months)
    rounding = next((month.group.rounded_to for month in reversed(report.months) if month.group), 20)
    return MonthsStacked(
        title=finding(shown),
        groups=tuple(Group(group.value, group.words, group.short_words) for group in groups),
        columns=tuple(
            Column(
                words=month.title,
                short_words=f"{month.period.first:%b}",
                letter=f"{month.period.first:%b}"[0],
                slices={group.value: pence for group, pence in month.own.by_group.items()},
                note=notes.get(index, ""),
                to=_statement_of(month, statement),
            )
            for index, month in enumerate(report.months)
        ),
        across=Across("Group", line, rounding),
    )


def finding(shown: OwnBesideGroup) -> str:
    """What a period shows, in a sentence without its full stop."""
    figure, group = shown.own.cost_per_lesson_hour, _median_of(shown)
    if figure is None:
        return f"{shown.title}: your lesson hour is not known"
    words = f"{shown.title}: a lesson hour cost {pence_as_pounds(figure)}"
    if group is None:
        return words
    if figure == group:
        return f"{words}, the same as the group’s"
    apart, than = abs(figure - group), "above" if figure > group else "below"
    apart_words = f"{apart}p" if apart < 100 else pence_as_pounds(apart)
    return f"{words}, {apart_words} {than} the group’s {pence_as_pounds(group)}"


def _notes(months: Sequence[OwnBesideGroup]) -> dict[int, str]:
    """Why the one or two dearest months are odd, by their place: the costs that made them so, or the few hours."""
    figures = {
        index: month.own.cost_per_lesson_hour
        for index, month in enumerate(months)
        if month.own.cost_per_lesson_hour is not None
    }
    usual = median(figures.values()) if figures else 0
    odd = [index for index, pence in figures.items() if (pence - usual) * _ODD > usual > 0]
    dearest = sorted(odd, key=lambda index: -figures[index])[:_MOST_NOTES]
    return {index: _note(months[index], [months[at] for at in figures], usual) for index in dearest}


def _note(month: OwnBesideGroup, told: Sequence[OwnBesideGroup], usual: float) -> str:
    """The group of costs that makes up at least half of what the month lies above the usual, else sum and hours."""
    own = month.own
    figure = own.cost_per_lesson_hour or 0
    above = {
        group: pence - median(other.own.by_group.get(group, 0) for other in told)
        for group, pence in own.by_group.items()
    }
    most = max(above, key=lambda group: above[group], default=None)
    if most is not None and above[most] * 2 >= figure - usual:
        return most.short_words if most is CostGroup.TAX else most.short_words.lower()
    return f"{pence_as_pounds(figure)} in {hours(own.minutes or 0)} h"
