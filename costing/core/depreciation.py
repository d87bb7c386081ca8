"""How a member's own car loses value, day by day."""

from collections.abc import Iterator
from datetime import date
from decimal import Context, Decimal
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

from costing.core.money import divide_half_up
from costing.core.periods import ONE_DAY
from costing.core.records import CarBook, Service, Valuation
from costing.core.shares import ByDays

#: These contexts keep any precision set elsewhere in the process from moving a penny. The second drops the guard
#: digits of the first, so that a power that is exactly half a penny counts as one.
_WORKING = Context(prec=40)
_KEPT = Context(prec=30)


#: Each month ends on the day before the next, and pages ask for the same months again.
@lru_cache(maxsize=4096)
def worth(pence: int, yearly_rate: Decimal, days: int) -> int:
    """Return what a car worth ``pence`` is worth ``days`` later by reducing balance, half up.

    ``yearly_rate`` 0.15 takes 15 % off in 365 days. Raises ValueError unless it is from 0 to 1.
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

    def by(self, day: date) -> int:
        """Return the pence of value lost by the end of ``day``."""
        days = (min(day, self.last) - self.first).days + 1
        return self.pence - worth(self.pence, self.yearly_rate, days)


def owned_from(book: CarBook) -> date | None:
    """Return the first day on which a loss of value is the member's; None if the car is only hired.

    A car without an agreement counts as the member's own.
    """
    owned = [a.starts_on for a in book.agreements if a.way.becomes_own]
    if not owned:
        return None if book.agreements else book.service.first
    return max(min(owned), book.service.first) if _is_hired_first(book) else book.service.first


def _is_hired_first(book: CarBook) -> bool:
    owned = [a.starts_on for a in book.agreements if a.way.becomes_own]
    hired = [a.starts_on for a in book.agreements if a.way.is_hire]
    return bool(owned and hired) and min(hired) < min(owned)


def value_points(book: CarBook) -> tuple[Valuation, ...]:
    """Return the known values of the car by day; none if it is only hired.

    They are the recorded valuations and the agreed price. The price stands on the first day in service (or the first
    day owned, if the car was hired before) unless that day has a valuation. What the car was worth while it was hired
    is left out: that loss was not the member's.
    """
    start = owned_from(book)
    if start is None:
        return ()
    hired_first = _is_hired_first(book)
    points = {v.valued_on: v.pence for v in book.valuations if v.valued_on >= start or not hired_first}
    owned = sorted((a for a in book.agreements if a.way.becomes_own), key=lambda a: a.starts_on)
    for agreement in owned:
        if agreement.price is not None:
            # The price of a later agreement says nothing about the first day.
            later = max(agreement.starts_on, book.service.first)
            points.setdefault(start if agreement is owned[0] else later, agreement.price)
            break
    return tuple(Valuation(day, points[day]) for day in sorted(points))


def estimated_loss(points: tuple[Valuation, ...], service: Service, yearly_rate: Decimal) -> ReducingBalance | None:
    """Return the loss after the last known value; None if there is no value or the car had left by then."""
    if not points:
        return None
    day, pence = points[-1]
    last = service.last or date.max
    return ReducingBalance(day + ONE_DAY, last, pence, yearly_rate) if last > day else None


def known_losses(points: tuple[Valuation, ...]) -> Iterator[ByDays]:
    """Yield the loss from each known value to the next, shared by days; below zero it is a gain.

    It runs from the end of the first day to the end of the second, even out of service.
    """
    for before, after in pairwise(points):
        yield ByDays(before.valued_on + ONE_DAY, after.valued_on, before.pence - after.pence)
