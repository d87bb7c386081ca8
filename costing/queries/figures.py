"""The stored figures of closed months."""

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from decimal import Decimal
from typing import NamedTuple

from django.db.models import Min, Q, Subquery, Value

from config.sql import day_of, rows
from costing.core.group import CLOSED_FIGURES, RUNNING_STEPS, STANDING_DAYS, Closing, Told, shown_running
from costing.core.money import to_pence
from costing.core.periods import month_of, months_ending
from costing.core.records import Period
from costing.models import CostEntry, Fill, GroupFigure, Span, TeachingRecord, ToldOfContributor
from fleet.core.days import add_months
from instructors.queries import first_joining


def closed_months() -> list[date]:
    """Return the first day of every closed month, newest first."""
    months = GroupFigure.objects.filter(span=Span.MONTH)
    return list(months.order_by("-month").values_list("month", flat=True))


def closing_of(month: date, span: str) -> Closing | None:
    """The closing of a month, or of the year ending with it; None while it is not closed."""
    return closings([month], span).get(month)


def closings(months: list[date], span: str) -> dict[date, Closing]:
    """The closings of ``months``, without those that are not closed yet."""
    rows = GroupFigure.objects.filter(month__in=months, span=span).order_by()
    return {month: _closing(*told) for month, *told in rows.values_list("month", *_CLOSED)}


def closings_of_year(months: Sequence[date]) -> dict[Period, Closing]:
    """Return the closings of ``months`` and of the year that ends with the last of them, by their days.

    Those not closed yet are left out. It takes one query, in plain SQL: home asks each time.
    """
    found = {}
    sql = _CLOSED_IN_YEAR.format(months=", ".join(["%s"] * len(months)))
    for month, span, *told in rows(sql, *months, months[-1]):
        found[_period(day_of(month), span)] = Closing(*told)
    return found


#: The columns of a closing, in the order of its fields.
_CLOSED = ("contributor_count", "out_count", "minimum", "rounded_to", *CLOSED_FIGURES)
#: Figures come as whole pence, and SQLite gives a month as text.
_CLOSED_IN_YEAR = f"""SELECT month, span, {", ".join(_CLOSED[:4])},
{", ".join(f"CAST(ROUND({name} * 100) AS INTEGER)" for name in CLOSED_FIGURES)}
FROM costing_groupfigure
WHERE (span = '{Span.MONTH}' AND month IN ({{months}})) OR (span = '{Span.YEAR}' AND month = %s)"""  # noqa: S608 - names


def _closing(contributors: int, out: int, minimum: int, rounded_to: int, *figures: Decimal | None) -> Closing:
    pence = (None if pounds is None else to_pence(pounds) for pounds in figures)
    return Closing(contributors, out, minimum, rounded_to, *pence)


def told_since(month: date) -> dict[Period, dict[int, Told]]:
    """Return what closed figures of months and years ending since ``month`` told of each contributor, by member id."""
    found: dict[Period, dict[int, Told]] = {}
    kept = ToldOfContributor.objects.filter(figure__month__gte=month).order_by().select_related("figure")
    for row in kept:
        period = _period(row.figure.month, row.figure.span)
        found.setdefault(period, {})[row.member_id] = Told(row.least, row.most)
    return found


def _period(month: date, span: str) -> Period:
    return months_ending(month, 12) if span == Span.YEAR else month_of(month)


class RunningFigures(NamedTuple):
    """A year's medians of running costs that may be shown today: pounds a year, and pence a mile for each fuel."""

    year: Period
    medians: Mapping[str, Decimal]


#: Whether the row of a year has medians of running costs.
_HAS_RUNNING = ~Q(**{f"{name}__isnull": True for name in RUNNING_STEPS})


def years_with_running() -> list[Period]:
    """Return the closed years that have medians of running costs."""
    months = GroupFigure.objects.filter(_HAS_RUNNING, span=Span.YEAR).order_by("month").values_list("month", flat=True)
    return [months_ending(month, 12) for month in months]


def running_figures(minimum: int, month: date | None = None) -> RunningFigures | None:
    """The medians of running costs of the last year that has them, by ``month`` or, unless told, the last closed month.

    They are closed once a year. None if that year ended more than twelve months before.
    """
    rows = GroupFigure.objects.filter(span=Span.YEAR).order_by("-month")
    by = Value(month) if month else Subquery(rows.values("month")[:1])
    row = rows.filter(_HAS_RUNNING, month__lte=by).annotate(by=by).first()
    if row is None or row.month < add_months(row.by, -12):
        return None
    medians = shown_running({name: getattr(row, name) for name in RUNNING_STEPS}, row.minimum, minimum)
    return RunningFigures(months_ending(row.month, 12), medians)


def first_month_to_close() -> date | None:
    """Return the first day of the first month that may have figures; None while there is none.

    It is that of the earliest entry that counts, and none before the first in which anybody has standing: an entry
    with a year mistyped closes no month of a time before the co-op.
    """
    days = ((Fill, "filled_on"), (CostEntry, "paid_on"), (TeachingRecord, "from_on"))
    firsts = [model.objects.standing().aggregate(first=Min(day))["first"] for model, day in days]
    recorded, joined = min(filter(None, firsts), default=None), first_joining()
    if recorded is None or joined is None:
        return None
    return month_of(max(recorded, joined + timedelta(days=STANDING_DAYS))).first
