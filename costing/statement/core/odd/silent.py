"""What has stopped coming although the car is driven: lessons, a regular cost, a service."""

from collections.abc import Iterator
from datetime import date, timedelta
from itertools import pairwise

from costing.core.catalogue.costs import ENTRY_CATEGORIES, INSTALMENT_CATEGORIES, SERVICING
from costing.core.finance import payment_windows
from costing.core.keeping import own_agreements
from costing.core.records import CarBook, Period
from costing.statement.core.odd.finding import Finding, Kind
from costing.statement.core.odd.looked import Looked
from fleet.core.plausible.scatter import deviation, median, usual_range

#: So many days without lessons, over which the odometer moved by so many miles, are more than a week off. The co-op's
#: habit, no source.
_NO_LESSONS, _MILES_WITHOUT_LESSONS = timedelta(days=14), 250
#: A cost comes regularly if its gaps scatter by at most one part in so many of their median.
_REGULAR = 4
#: By so many per cent at least must a gap lie beyond the middle of the cost's own.
_LONG = 50
#: Hardly a maker lets a car go further without a service. Common practice, no source.
SERVICE_MILES = 15_000


def lessons(looked: Looked) -> Iterator[Finding]:
    """Yield that no lessons are logged since some day, though the odometer moved."""
    told = [min(one, looked.period.last) for one in _told_to(looked.book)]
    if looked.now is None or not told:
        return
    since, read = max(told), looked.readings(looked.now)
    if since < looked.now.first or not read or read[-1] - since <= _NO_LESSONS:
        return
    miles = looked.use.odometer.at(read[-1]) - looked.use.odometer.at(since)
    if miles >= _MILES_WITHOUT_LESSONS:
        figures = {"miles": miles, "days": (read[-1] - since).days}
        yield Finding(Kind.LESSONS, "", since.isoformat(), since, read[-1], is_open=True, figures=figures)


def _told_to(book: CarBook) -> list[date]:
    if book.logged is None:
        return [record.to_on for record in book.teaching]
    return [one.to_on for one in book.logged if book.whose in (None, one.member)]


def regular_costs(looked: Looked) -> Iterator[Finding]:
    """Yield each cost that came regularly and is overdue by its own rhythm.

    What is paid for days to come is looked at by its days (`covers`), not here; instalments only while they are due.
    """
    if looked.now is None:
        return
    today = looked.period.last
    for category in ENTRY_CATEGORIES:
        days = _paid_on(looked, category.name, looked.now)
        gaps = [(after - before).days for before, after in pairwise(days)]
        usual = usual_range(gaps, floor_percent=_LONG)
        if usual is None or _REGULAR * deviation(gaps) > median(gaps) or (today - days[-1]).days <= usual.high:
            continue
        if category.name in INSTALMENT_CATEGORIES and _is_paid_off(looked.book, today):
            continue
        figures = {"days": (today - days[-1]).days, "usual": usual.middle}
        yield Finding(
            *(Kind.SILENT, category.name, days[-1].isoformat(), days[-1], today), is_open=True, figures=figures
        )


def _paid_on(looked: Looked, category: str, time: Period) -> list[date]:
    found = (cost for cost in looked.book.costs if cost.category == category and cost.pence > 0)
    undated = {cost.paid_on for cost in found if cost.covers_from is None and cost.covers_miles is None}
    return sorted(day for day in undated if time.first <= day <= looked.period.last)


def _is_paid_off(book: CarBook, today: date) -> bool:
    """Whether the term of the last agreement that began is over."""
    begun = [held for held in own_agreements(book) if held.starts_on <= today]
    windows = payment_windows(begun[-1]) if begun else ()
    return bool(windows) and windows[-1].last < today


def service(looked: Looked) -> Iterator[Finding]:
    """Yield that the whole period, with many miles, has no service: of a car that is not hired, kept all through.

    Once dismissed it is asked again when as many miles more are run.
    """
    book, period = looked.book, looked.period
    if looked.now is None or looked.now.first > period.first or any(held.way.is_hire for held in own_agreements(book)):
        return
    read = looked.readings(looked.now)
    if not read or any(cost.category == SERVICING.name for cost in book.costs if cost.paid_on >= period.first):
        return
    shown = looked.use.odometer.at(read[-1])
    miles = shown - looked.use.odometer.at(read[0])
    if miles >= SERVICE_MILES:
        rests_on = str(shown // SERVICE_MILES * SERVICE_MILES)
        yield Finding(Kind.SERVICING, "", rests_on, period.first, read[-1], is_open=True, figures={"miles": miles})
