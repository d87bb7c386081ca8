"""The stored figures of closed months."""

from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal

from django.db.models import Min, Q

from costing.core.group import CLOSED_FIGURES, RUNNING_STEPS, Closing
from costing.core.money import to_pence
from costing.core.periods import month_of, months_ending
from costing.core.records import Period
from costing.models import CostEntry, Fill, GroupFigure, Span, TeachingRecord


def closed_months() -> list[date]:
    """Return the first day of every closed month, newest first."""
    months = GroupFigure.objects.filter(span=Span.MONTH)
    return list(months.order_by("-month").values_list("month", flat=True))


def closing_of(month: date, span: str) -> Closing | None:
    """The closing of a month, or of the year ending with it; None while it is not closed."""
    return closings([month], span).get(month)


def closings(months: list[date], span: str) -> dict[date, Closing]:
    """The closings of ``months``, without those that are not closed yet."""
    return {row.month: _closing(row) for row in GroupFigure.objects.filter(month__in=months, span=span)}


def closings_of_year(months: Sequence[date]) -> dict[Period, Closing]:
    """Return the closings of ``months`` and of the year that ends with the last of them, by their days.

    Those not closed yet are left out. It takes one query.
    """
    of_year = Q(span=Span.YEAR, month=months[-1])
    rows = GroupFigure.objects.filter(Q(span=Span.MONTH, month__in=months) | of_year).order_by().defer(*RUNNING_STEPS)
    return {_period(row): _closing(row) for row in rows}


def _period(row: GroupFigure) -> Period:
    return months_ending(row.month, 12) if row.span == Span.YEAR else month_of(row.month)


def _closing(row: GroupFigure) -> Closing:
    figures = (getattr(row, name) for name in CLOSED_FIGURES)
    return Closing(
        row.contributor_count,
        row.out_count,
        row.minimum,
        row.rounded_to,
        *(None if pounds is None else to_pence(pounds) for pounds in figures),
    )


def running_figures(minimum: int) -> Mapping[str, Decimal]:
    """The medians of running costs from the last closed year: pounds a year, and pence a mile for each fuel.

    Empty if the co-op's ``minimum`` has been raised since: the book does not store how many contributed to each.
    """
    row = GroupFigure.objects.filter(span=Span.YEAR).order_by("-month").first()
    if row is None or row.minimum < minimum:
        return {}
    found = {name: getattr(row, name) for name in RUNNING_STEPS}
    return {name: median for name, median in found.items() if median is not None}


def first_recorded_month() -> date | None:
    """Return the first day of the month of the earliest entry that counts; None in an empty book."""
    days = ((Fill, "filled_on"), (CostEntry, "paid_on"), (TeachingRecord, "from_on"))
    firsts = [model.objects.standing().aggregate(first=Min(day))["first"] for model, day in days]
    return min((month_of(day).first for day in firsts if day), default=None)
