"""Days of one's own with a car that no cover of a category holds: between two covers, or since the last one."""

from collections.abc import Iterator, Sequence
from datetime import timedelta

from costing.core.catalogue.costs import ENTRY_CATEGORIES
from costing.core.periods import ONE_DAY, days_in, overlap
from costing.core.records import CarBook, Cost, Period
from costing.statement.core.odd.finding import Finding, Kind
from costing.statement.core.odd.looked import Looked

#: The categories whose cover follows on itself.
RENEWED = tuple(category.name for category in ENTRY_CATEGORIES if category.is_renewed)
#: A payment that tells no days is good for so many, so that one by the month leaves no hole.
_UNDATED = timedelta(days=31)


def covered(book: CarBook, category: str, period: Period) -> list[Period]:
    """The days that each cost of a category covers, in order, as far as they reach into ``period`` or beyond it."""
    spans = (
        Period(cost.covers_from, min(filter(None, (cost.covers_to, cost.ended_on))))
        for cost in _paid(book, category)
        if cost.covers_from
    )
    return sorted(span for span in spans if span.first <= span.last and span.last >= period.first)


def holes(looked: Looked) -> Iterator[Finding]:
    """Yield each run of days without cover.

    Looked at are days from the first one covered to today, or to the last one covered if that is still to come.
    """
    today = looked.period.last
    for category in RENEWED:
        spans = covered(looked.book, category, looked.period)
        if not spans:
            continue
        reach = Period(spans[0].first, max(today, *(span.last for span in spans)))
        for time in looked.times:
            for hole in _left(overlap(time, reach), spans):
                if not _is_paid_undated(looked.book, category, hole):
                    figures = {"days": days_in(hole), "followed": int(hole.last < reach.last)}
                    yield Finding(
                        Kind.COVER, category, hole.first.isoformat(), *hole, is_open=hole.last >= today, figures=figures
                    )


def _paid(book: CarBook, category: str) -> Iterator[Cost]:
    return (cost for cost in book.costs if cost.category == category and cost.pence > 0)


def _left(days: Period | None, spans: Sequence[Period]) -> Iterator[Period]:
    """Yield the runs of ``days`` that lie in none of ``spans``, which are in order."""
    if days is None:
        return
    at = days.first
    for span in spans:
        if span.first > days.last:
            break
        if at < span.first:
            yield Period(at, span.first - ONE_DAY)
        at = max(at, span.last + ONE_DAY)
    if at <= days.last:
        yield Period(at, days.last)


def _is_paid_undated(book: CarBook, category: str, hole: Period) -> bool:
    """Whether something was paid about then of which the book knows no days."""
    undated = (cost for cost in _paid(book, category) if cost.covers_from is None)
    return any(hole.first - _UNDATED <= cost.paid_on <= hole.last for cost in undated)
