"""What a car's book does not say about a period, as codes that the pages put in words."""

from collections.abc import Iterable, Iterator
from datetime import date
from enum import StrEnum
from typing import NamedTuple

from costing.core.catalogue.costs import INSTALMENT_CATEGORIES
from costing.core.depreciation import OwnedSpan
from costing.core.finance import lacks_terms, payment_windows
from costing.core.keeping import own_agreements, own_times, that_count
from costing.core.periods import overlap
from costing.core.records import CarBook, Cost, Period, Service, Teaching, Unit


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
    #: There is no fill at all, or none by the day that is needed; `Missing.day` is that of the first or the last fill.
    NO_FILLS = "no_fills"
    NO_FILL_BEFORE = "no_fill_before"
    NO_FILL_AFTER = "no_fill_after"
    #: There is neither an agreement nor a valuation, so the cost of holding the car is unknown.
    NO_AGREEMENT = "no_agreement"
    #: Nothing tells how the car was held before its first agreement; `Missing.day` is that one's first.
    NO_AGREEMENT_BEFORE = "no_agreement_before"
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
    #: There is no teaching record, or none by the day that is needed; `Missing.day` is its first or last day.
    NO_TEACHING = "no_teaching"
    NO_LESSONS_BEFORE = "no_lessons_before"
    NO_LESSONS_AFTER = "no_lessons_after"
    #: More than 7 days from `Missing.day` on have no teaching record; they count as days without lessons.
    DAYS_WITHOUT_LESSONS = "days_without_lessons"
    #: A teaching record, from `Missing.day` on, does not tell its lessons, hours or private miles.
    LESSONS_UNTOLD = "lessons_untold"
    HOURS_UNTOLD = "hours_untold"
    PRIVATE_MILES_UNTOLD = "private_miles_untold"
    #: Lessons, from `Missing.day` on, were given in a car while it was not in service, by somebody who did not keep it,
    #: or (in a member's own book) while the member did not keep it. They count in no ratio.
    LESSONS_OUT_OF_SERVICE = "lessons_out_of_service"
    LESSONS_BY_ANOTHER = "lessons_by_another"
    LESSONS_ELSEWHERE = "lessons_elsewhere"
    #: There are neither lessons nor lesson hours in the period, or one of them without the other.
    NO_LESSONS_THEN = "no_lessons_then"
    NO_LESSONS = "no_lessons"
    NO_LESSON_HOURS = "no_lesson_hours"
    #: The member only borrowed the car in the period.
    BORROWED = "borrowed"
    #: There are fills, but no two brims with every fill between them in the book, so there is no economy.
    NO_FULL_LITRES = "no_full_litres"
    NO_FULL_KWH = "no_full_kwh"


class Missing(NamedTuple):
    """One reason, with its day if it has one."""

    reason: Reason
    day: date | None = None


class OfRecord(NamedTuple):
    """A reason that lies in one teaching record, with the key of its entry in the book; None is not known."""

    missing: Missing
    key: int | None


def missing_cover(book: CarBook, period: Period) -> Iterator[Missing]:
    """Yield that something bought by the mile cannot be shared; of a car without any reading."""
    if any(_waits_for_miles(cost, book.service, period) for cost in book.costs):
        yield Missing(Reason.COVER_WITHOUT_READINGS)


def _waits_for_miles(cost: Cost, service: Service, period: Period) -> bool:
    if cost.category in INSTALMENT_CATEGORIES or cost.covers_miles is None:
        return False
    # Miles count from the day after it was paid; whatever is left on its last day is charged then.
    ends_on = cost.ended_on or service.last or date.max
    return cost.paid_on < period.last and period.first <= ends_on


def missing_values(book: CarBook, spans: Iterable[OwnedSpan], period: Period) -> Iterator[Missing]:
    """Yield why the loss of value of ``period`` is unknown: on one of its days the car was held without a known value.

    ``spans`` are the book's `owned_spans`. A loan needs no value.
    """
    kept = [days for time in own_times(book) if not time.is_loan and (days := overlap(time.period, period))]
    unknown = next((span for span in spans for days in kept if span.is_unknown_in(days)), None)
    if unknown is None:
        return
    first = next(iter(own_agreements(book)), None)
    if unknown.points:
        yield Missing(Reason.NO_VALUE_BEFORE, unknown.points[0].valued_on)
    elif first is None:
        yield Missing(Reason.NO_AGREEMENT)
    elif unknown.period.last < first.starts_on:
        yield Missing(Reason.NO_AGREEMENT_BEFORE, first.starts_on)
    else:
        yield Missing(Reason.NO_VALUE)


def missing_terms(book: CarBook, period: Period) -> Iterator[Missing]:
    """Yield the agreements that run in ``period`` and of which too little is recorded to know what they charge."""
    for agreement in own_agreements(book):
        if not lacks_terms(agreement):
            continue
        windows = payment_windows(agreement)
        # Without the number of payments, the end of the term is unknown.
        last = windows[-1].last if windows else date.max
        if any(overlap(days, Period(agreement.starts_on, last)) for days in that_count(book, period)):
            reason = Reason.NO_FINANCE_TERMS if agreement.way.is_credit else Reason.NO_HIRE_TERMS
            yield Missing(reason, agreement.starts_on)


def missing_lessons(
    book: CarBook, taught: Iterable[tuple[Teaching, list[Period]]], period: Period
) -> Iterator[OfRecord]:
    """Yield the teaching records of ``period`` that count in no figure, or that leave something untold.

    ``taught`` are the book's `lesson_days`.
    """
    service = Period(book.service.first, book.service.last or date.max)
    for record, own_days in taught:
        span = Period(record.from_on, record.to_on)
        if overlap(span, period) and not own_days and (record.lessons != 0 or record.minutes != 0):
            outside = Reason.LESSONS_BY_ANOTHER if overlap(span, service) else Reason.LESSONS_OUT_OF_SERVICE
            reason = outside if book.whose is None else Reason.LESSONS_ELSEWHERE
            yield OfRecord(Missing(reason, span.first), record.key)
        if any(overlap(days, period) for days in own_days):
            told = (record.lessons, record.minutes, record.private_miles)
            untold = (reason for reason, part in zip(_UNTOLD, told, strict=True) if part is None)
            yield from (OfRecord(Missing(reason, span.first), record.key) for reason in untold)


_UNTOLD = (Reason.LESSONS_UNTOLD, Reason.HOURS_UNTOLD, Reason.PRIVATE_MILES_UNTOLD)


def missing_use(
    miles: int | None, private_miles: int | None, lessons: int | None, minutes: int | None
) -> Iterator[Missing]:
    """Yield why the cost of a mile, a lesson or a lesson hour is absent, apart from what is not known."""
    if miles is not None and miles <= 0:
        yield Missing(Reason.NO_MILES)
    elif miles is not None and private_miles is not None and private_miles > miles:
        yield Missing(Reason.PRIVATE_ABOVE_MILES)
    if lessons == 0 and minutes == 0:
        yield Missing(Reason.NO_LESSONS_THEN)
    elif lessons == 0:
        yield Missing(Reason.NO_LESSONS)
    elif minutes == 0:
        yield Missing(Reason.NO_LESSON_HOURS)


def missing_economy(bought: Iterable[Unit], known: Iterable[Unit]) -> Iterator[Missing]:
    """Yield why an economy is absent: for each unit in ``bought`` that is not in ``known``."""
    absent = set(bought) - set(known)
    if "litre" in absent:
        yield Missing(Reason.NO_FULL_LITRES)
    if "kwh" in absent:
        yield Missing(Reason.NO_FULL_KWH)


#: What is only named takes no figure away, or only the figure that it belongs to.
_UNTOLD_PARTS = frozenset(_UNTOLD)
_ONLY_NAMED = _UNTOLD_PARTS | {
    Reason.COVER_WITHOUT_READINGS,
    Reason.DAYS_WITHOUT_LESSONS,
    Reason.LESSONS_BY_ANOTHER,
    Reason.LESSONS_ELSEWHERE,
    Reason.LESSONS_OUT_OF_SERVICE,
}
#: What is only named, and what takes other figures away, but not the cost of a lesson hour.
_NOT_OF_LESSON_HOUR = (_ONLY_NAMED - {Reason.HOURS_UNTOLD, Reason.PRIVATE_MILES_UNTOLD}) | {
    Reason.NO_LESSONS,
    Reason.NO_FULL_LITRES,
    Reason.NO_FULL_KWH,
}
#: What comes in as days go by.
_TO_COME = frozenset({Reason.NO_READING_AFTER, Reason.NO_FILL_AFTER, Reason.NO_LESSONS_AFTER})
_UNREAD = frozenset({Reason.NO_READINGS, Reason.NO_READING_BEFORE, Reason.NO_READING_AFTER})
_WITHOUT_VALUE = frozenset({Reason.NO_AGREEMENT, Reason.NO_AGREEMENT_BEFORE, Reason.NO_VALUE, Reason.NO_VALUE_BEFORE})

#: What leaves a part of the true cost out.
_LEAVES_OUT = _WITHOUT_VALUE | {
    Reason.COVER_WITHOUT_READINGS,
    Reason.NO_FILLS,
    Reason.NO_FILL_BEFORE,
    Reason.NO_FILL_AFTER,
    Reason.NO_FINANCE_TERMS,
    Reason.NO_HIRE_TERMS,
}
_LESSONS_TO_COME = frozenset({Reason.NO_TEACHING, Reason.NO_LESSONS_BEFORE, Reason.NO_LESSONS_AFTER})


def leaves_known(lacking: Iterable[Missing]) -> bool:
    """Say whether the figures that divide can be given all the same."""
    return all(found.reason in _ONLY_NAMED for found in lacking)


def of_lesson_hour(lacking: Iterable[Missing]) -> list[Missing]:
    """Return what takes the cost of a lesson hour away."""
    return [found for found in lacking if found.reason not in _NOT_OF_LESSON_HOUR]


def is_to_come(lacking: Iterable[Missing]) -> bool:
    """Say whether nothing is lacking but what comes in as days go by; an economy may be absent besides."""
    return all(found.reason in _TO_COME | {Reason.NO_FULL_LITRES, Reason.NO_FULL_KWH} for found in lacking)


def has_to_come(lacking: Iterable[Missing]) -> bool:
    """Say whether something is lacking that comes in as days go by."""
    return any(found.reason in _TO_COME for found in lacking)


def lacks_readings(lacking: Iterable[Missing]) -> bool:
    """Say whether the readings do not reach over all days."""
    return any(found.reason in _UNREAD for found in lacking)


def leaves_whole(lacking: Iterable[Missing]) -> bool:
    """Say whether they can be given, and none of their parts is untold."""
    return all(found.reason in _ONLY_NAMED - _UNTOLD_PARTS for found in lacking)


def leaves_out_value(lacking: Iterable[Missing]) -> bool:
    """Say whether the loss of value is unknown."""
    return any(found.reason in _WITHOUT_VALUE for found in lacking)


def leaves_out_cost(lacking: Iterable[Missing]) -> bool:
    """Say whether a part of the true cost is not known: of the loss of value, of hire or interest, of fuel or tyres."""
    return any(found.reason in _LEAVES_OUT for found in lacking)


def of_lessons(lacking: Iterable[Missing]) -> list[Missing]:
    """Return why the records of lessons do not reach over all days."""
    return [found for found in lacking if found.reason in _LESSONS_TO_COME]


def unless_untold(reason: Reason, lacking: Iterable[Missing], used: int) -> int | None:
    """Return what was ``used``, or None if ``reason`` says that it is not told."""
    return None if any(found.reason is reason for found in lacking) else used
