"""How a member's own car loses value, day by day."""

from collections.abc import Iterable, Iterator
from datetime import date
from decimal import Context, Decimal
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise
from operator import itemgetter
from typing import NamedTuple

from costing.core.keeping import (
    days_of_any,
    inside,
    keeper_on,
    own_agreements,
    own_times,
    own_valuations,
    time_of,
)
from costing.core.money import divide_half_up
from costing.core.periods import NEAR, ONE_DAY, overlap
from costing.core.records import Agreement, CarBook, Period, Valuation
from costing.core.shares import ByDays

#: These contexts keep any precision set elsewhere in the process from moving a penny. The second drops the guard
#: digits of the first, so that a power that is exactly half a penny counts as one.
_WORKING = Context(prec=40)
_KEPT = Context(prec=30)


#: Each month ends on the day before the next, and pages ask for the same months again.
@lru_cache(maxsize=4096)
def worth(pence: int, yearly_rate: Decimal, days: int) -> int:
    """Return what a car worth ``pence`` is worth ``days`` later by reducing balance, half up.

    ``yearly_rate`` 0.15 takes 15% off in 365 days. Raises ValueError unless it is from 0 to 1.
    """
    if not 0 <= yearly_rate <= 1:
        raise ValueError(f"a yearly rate of depreciation is from 0 to 1, not {yearly_rate}")
    if days <= 0:
        return pence
    years = _WORKING.divide(Decimal(days), Decimal(365))
    left = _WORKING.power(_WORKING.subtract(Decimal(1), yearly_rate), years)
    return divide_half_up(Fraction(_KEPT.multiply(left, Decimal(pence))), 1)


class ReducingBalance(NamedTuple):
    """The estimated loss after the last known value, from ``first`` to ``last``."""

    first: date
    last: date
    pence: int
    yearly_rate: Decimal

    @property
    def amount(self) -> int:
        """All that is lost."""
        return self.by(self.last)

    def by(self, day: date) -> int:
        """Return the pence of value lost by the end of ``day``."""
        days = (min(day, self.last) - self.first).days + 1
        return self.pence - worth(self.pence, self.yearly_rate, days)


class OwnedSpan(NamedTuple):
    """Days on which a car was held as one's own, and what it was worth on known days of them, by day."""

    period: Period
    points: tuple[Valuation, ...]

    def is_unknown_in(self, days: Period) -> bool:
        """Whether the car's worth is unknown on one of ``days``: before its first known value, or without any."""
        shared = overlap(self.period, days)
        return shared is not None and (not self.points or shared.first < self.points[0].valued_on)


def owned_spans(book: CarBook) -> tuple[OwnedSpan, ...]:
    """Return when the car was held as one's own, in order, with its known values.

    These are the recorded valuations and each agreement's price, unless its day has a valuation. What the car was worth
    while it was hired is left out: that loss was not the member's. A car without an agreement counts as one's own.
    """
    points = {price.valued_on: price.pence for price in reversed(list(_prices(book)))}
    points |= {valued.valued_on: valued.pence for valued in own_valuations(book)}
    return tuple(
        OwnedSpan(span, tuple(Valuation(day, points[day]) for day in sorted(points) if span.first <= day <= span.last))
        for span in _owned(book)
    )


def _owned(book: CarBook) -> Iterator[Period]:
    """Yield the spans of days on which the agreement in force does not make the car a hired one.

    An agreement is in force until the next one, or else as long as the car is held.
    """
    first: date | None = date.min
    for since, held in sorted(((_in_force_from(book, one), one) for one in own_agreements(book)), key=itemgetter(0)):
        if held.way.is_hire and first is not None:
            if first < since:
                yield Period(first, since - ONE_DAY)
            first = None
        elif not held.way.is_hire and first is None:
            first = since
    if first is not None:
        yield Period(first, date.max)


def _in_force_from(book: CarBook, held: Agreement) -> date:
    """Return the day from which an agreement says how the car is held.

    The first one of a keeper holds from the first day of the time in which it begins; in the book's first time, always.
    A hire does so only if it begins near that day: nothing tells what earlier days cost, and they were not free.
    """
    agreements = own_agreements(book)
    keeper, time = keeper_on(book, held.starts_on), time_of(book, held.starts_on)
    if held.way.is_hire and time is not None and held.starts_on - time.first > NEAR:
        return held.starts_on
    if held is agreements[0] and time is not None and time == _first_time(book):
        return date.min
    is_later = any(one.starts_on < held.starts_on and keeper_on(book, one.starts_on) == keeper for one in agreements)
    return held.starts_on if is_later or time is None else time.first


def _first_time(book: CarBook) -> Period | None:
    """Return the member's first time with the car, or in the car's own book the first keeper's."""
    if book.whose is None:
        return time_of(book, date.min)
    return next((time.period for time in own_times(book)), None)


def _prices(book: CarBook) -> Iterator[Valuation]:
    """Yield the price of each agreement that makes the car one's own, on the day on which it stands.

    That is the first day of the time in which the agreement begins or, of a car that its keeper hired before, the
    agreement's own first day.
    """
    agreements = own_agreements(book)
    for held in agreements:
        if held.price is None or not held.way.becomes_own:
            continue
        keeper, time = keeper_on(book, held.starts_on), time_of(book, held.starts_on)
        hired_before = any(
            one.way.is_hire and one.starts_on < held.starts_on and keeper_on(book, one.starts_on) == keeper
            for one in agreements
        )
        yield Valuation(held.starts_on if hired_before or time is None else time.first, held.price)


def estimated_loss(span: OwnedSpan, ended_on: date | None, yearly_rate: Decimal) -> ReducingBalance | None:
    """Return the loss after the last known value, to the end of the span or of the car's service.

    It is None if there is no value or the car had left by then.
    """
    if not span.points:
        return None
    day, pence = span.points[-1]
    last = min(span.period.last, ended_on or date.max)
    return ReducingBalance(day + ONE_DAY, last, pence, yearly_rate) if last > day else None


def days_losing(books: Iterable[CarBook], period: Period) -> int:
    """Return the number of days of ``period`` on which at least one of a member's own cars lost value.

    The day of the first known value is none: from its end on the car is worth less.
    """
    return days_of_any((days for book in books for days in _losing(book)), period)


def _losing(book: CarBook) -> Iterator[Period]:
    for owned in owned_spans(book):
        if owned.points and (first := owned.points[0].valued_on + ONE_DAY) <= owned.period.last:
            yield from inside(own_times(book), Period(first, owned.period.last))


def known_losses(points: tuple[Valuation, ...]) -> Iterator[ByDays]:
    """Yield the loss from each known value to the next, shared by days; below zero it is a gain.

    It runs from the end of the first day to the end of the second, even out of service.
    """
    for before, after in pairwise(points):
        yield ByDays(before.valued_on + ONE_DAY, after.valued_on, before.pence - after.pence)
