"""What a car's book does not say about a period, as codes that the pages put in words."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from enum import StrEnum
from typing import NamedTuple

from costing.core.catalogue.costs import INSTALMENT_CATEGORIES
from costing.core.depreciation import owned_from, value_points
from costing.core.finance import lacks_terms, payment_windows
from costing.core.odometer import CarOdometer
from costing.core.periods import ONE_DAY, overlap
from costing.core.records import CarBook, Cost, Period, Service, Unit
from costing.core.shares import ByDays


class Reason(StrEnum):
    """Why a figure is absent or rests on less than the whole period."""

    #: The car was not in service on any day of the period.
    NOT_IN_SERVICE = "not_in_service"
    NO_READINGS = "no_readings"
    #: The period begins before the first reading; `Missing.day` is that reading's.
    NO_READING_BEFORE = "no_reading_before"
    #: The period ends after the last reading; `Missing.day` is that reading's.
    NO_READING_AFTER = "no_reading_after"
    #: The car has no reading, so something bought to last a distance cannot be shared.
    COVER_WITHOUT_READINGS = "cover_without_readings"
    #: No fill pays for any day of the period, so its fuel is unknown.
    NO_FILLS = "no_fills"
    #: There is neither an agreement nor a valuation, so the cost of holding the car is unknown.
    NO_AGREEMENT = "no_agreement"
    #: The member's own car has neither a price nor a valuation.
    NO_VALUE = "no_value"
    #: The period begins before the first known value; `Missing.day` is that value's.
    NO_VALUE_BEFORE = "no_value_before"
    #: Hire purchase or PCP has no price or no payments; `Missing.day` is the agreement's first.
    NO_FINANCE_TERMS = "no_finance_terms"
    #: A hire has no number of payments; `Missing.day` is the agreement's first.
    NO_HIRE_TERMS = "no_hire_terms"
    #: The readings show no miles, so there is no cost of a mile and no business share.
    NO_MILES = "no_miles"
    #: There are more private miles than miles, so there is no business share.
    PRIVATE_ABOVE_MILES = "private_above_miles"
    #: There are neither lessons nor lesson hours, or one of them without the other.
    NO_TEACHING = "no_teaching"
    NO_LESSONS = "no_lessons"
    NO_LESSON_HOURS = "no_lesson_hours"
    #: There are fills, but no two brims with every fill between them in the book, so there is no economy.
    NO_FULL_LITRES = "no_full_litres"
    NO_FULL_KWH = "no_full_kwh"


class Missing(NamedTuple):
    """One reason, with its day if it has one."""

    reason: Reason
    day: date | None = None


def missing_records(book: CarBook, period: Period, odometer: CarOdometer, fuel: Sequence[ByDays]) -> Iterator[Missing]:
    """Yield what is not recorded for the days of ``period`` on which the car was in service."""
    in_service = overlap(period, Period(book.service.first, book.service.last or date.max))
    if in_service is None:
        yield Missing(Reason.NOT_IN_SERVICE)
        return
    # The reading before the period is needed too, but none from before the car came into service.
    needed_from = max(period.first - ONE_DAY, book.service.first)
    yield from _missing_readings(book, period, odometer, Period(needed_from, in_service.last))
    if not any(span.first <= in_service.last and span.last >= in_service.first for span in fuel):
        yield Missing(Reason.NO_FILLS)
    yield from _missing_values(book, in_service)
    yield from _missing_terms(book, period)


def _missing_readings(book: CarBook, period: Period, odometer: CarOdometer, needed: Period) -> Iterator[Missing]:
    before, after = odometer.unread(needed)
    if not odometer:
        yield Missing(Reason.NO_READINGS)
        if any(_waits_for_miles(cost, book.service, period) for cost in book.costs):
            yield Missing(Reason.COVER_WITHOUT_READINGS)
    if before:
        yield Missing(Reason.NO_READING_BEFORE, before)
    if after:
        yield Missing(Reason.NO_READING_AFTER, after)


def _waits_for_miles(cost: Cost, service: Service, period: Period) -> bool:
    if cost.category in INSTALMENT_CATEGORIES or cost.covers_miles is None:
        return False
    # Miles count from the day after it was paid; whatever is left on its last day is charged then.
    ends_on = cost.ended_on or service.last or date.max
    return cost.paid_on < period.last and period.first <= ends_on


def _missing_values(book: CarBook, in_service: Period) -> Iterator[Missing]:
    start, points = owned_from(book), value_points(book)
    if start is None or in_service.last < start:
        return
    if not points:
        yield Missing(Reason.NO_VALUE if book.agreements else Reason.NO_AGREEMENT)
    elif max(in_service.first, start) < points[0].valued_on:
        yield Missing(Reason.NO_VALUE_BEFORE, points[0].valued_on)


def _missing_terms(book: CarBook, period: Period) -> Iterator[Missing]:
    lacking = [agreement for agreement in book.agreements if lacks_terms(agreement)]
    for agreement in sorted(lacking, key=lambda agreement: agreement.starts_on):
        windows = payment_windows(agreement)
        # Without the number of payments, the end of the term is unknown.
        last = windows[-1].last if windows else date.max
        if overlap(period, Period(agreement.starts_on, last)):
            reason = Reason.NO_FINANCE_TERMS if agreement.way.is_credit else Reason.NO_HIRE_TERMS
            yield Missing(reason, agreement.starts_on)


def missing_use(miles: int | None, private_miles: int, lessons: int, minutes: int) -> Iterator[Missing]:
    """Yield why the cost of a mile, a lesson or a lesson hour is absent, apart from missing readings."""
    if miles is not None and miles <= 0:
        yield Missing(Reason.NO_MILES)
    elif miles is not None and private_miles > miles:
        yield Missing(Reason.PRIVATE_ABOVE_MILES)
    if lessons <= 0 and minutes <= 0:
        yield Missing(Reason.NO_TEACHING)
    elif lessons <= 0:
        yield Missing(Reason.NO_LESSONS)
    elif minutes <= 0:
        yield Missing(Reason.NO_LESSON_HOURS)


def missing_economy(bought: Iterable[Unit], known: Iterable[Unit]) -> Iterator[Missing]:
    """Yield why an economy is absent: for each unit in ``bought`` that is not in ``known``."""
    absent = set(bought) - set(known)
    if "litre" in absent:
        yield Missing(Reason.NO_FULL_LITRES)
    if "kwh" in absent:
        yield Missing(Reason.NO_FULL_KWH)
