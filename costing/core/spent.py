"""What was paid for one car, each sum with how much of it counts by the end of any day."""

from collections.abc import Iterable, Iterator
from datetime import date
from functools import cached_property
from typing import NamedTuple

from costing.core.catalogue.costs import INSTALMENT_CATEGORIES
from costing.core.economy import in_order
from costing.core.keeping import own_times
from costing.core.odometer import CarOdometer
from costing.core.periods import ONE_DAY
from costing.core.records import CarBook, Cost, Fill, Unit
from costing.core.shares import ByDays, RunningTotal, share


class ByMiles(NamedTuple):
    """A sum shared over the ``miles`` run since the end of ``paid_on``."""

    paid_on: date
    miles: int
    amount: int
    odometer: CarOdometer

    @property
    def first(self) -> date:
        """The first day whose miles count."""
        return self.paid_on + ONE_DAY

    @property
    def last(self) -> date:
        """No last day is known: it depends on the miles."""
        return date.max

    def by(self, day: date) -> int:
        """Return what is used by the end of ``day``. Raises LookupError without any reading."""
        run = self.odometer.at(day) - self.odometer.at(self.paid_on)
        return share(self.amount, run, self.miles)


class Ended(NamedTuple):
    """A sum whose rest is charged on ``ends_on``, or all of it if nothing was used yet."""

    total: ByDays | ByMiles
    ends_on: date

    @property
    def first(self) -> date:
        """The first day on which something may be used; the end may come before the cover begins."""
        return min(self.total.first, self.ends_on)

    @property
    def last(self) -> date:
        """The day by which all is used."""
        return min(self.total.last, self.ends_on)

    @property
    def amount(self) -> int:
        """The whole sum."""
        return self.total.amount

    def by(self, day: date) -> int:
        """Return what is used by the end of ``day``."""
        return self.total.amount if day >= self.ends_on else self.total.by(day)


def cost_total(cost: Cost, odometer: CarOdometer, last: date | None) -> RunningTotal | None:
    """Return the running total of a cost entry; None while nothing of it can be charged.

    ``last`` is the day on which what is left is charged, unless the cover ended on a day of its own: the last day with
    the car. Nothing of cover by miles can be charged until then without any odometer reading.
    """
    ends_on = cost.ended_on or last
    total: ByDays | ByMiles
    if cost.covers_from is not None and cost.covers_to is not None:
        total = ByDays(cost.covers_from, cost.covers_to, cost.pence)
    elif cost.covers_miles is None:
        return ByDays(cost.paid_on, cost.paid_on, cost.pence)
    elif not odometer:
        return ByDays(ends_on, ends_on, cost.pence) if ends_on else None
    else:
        total = ByMiles(cost.paid_on, cost.covers_miles, cost.pence, odometer)
    return Ended(total, ends_on) if ends_on else total


def fuel_totals(fills: Iterable[Fill]) -> Iterator[ByDays]:
    """Yield the days that each fill pays for; ``fills`` are in order.

    A fill replaces what was used since the previous fill of the same unit, so a car that takes both petrol and charge
    has two such chains.
    """
    previous: dict[Unit, date] = {}
    for fill in fills:
        before = previous.get(fill.unit, fill.filled_on)
        first = fill.filled_on if before == fill.filled_on else before + ONE_DAY
        previous[fill.unit] = fill.filled_on
        yield ByDays(first, fill.filled_on, fill.pence)


class Spent:
    """What was paid for the car of one book: its totals are worked out once, and every period asks the same ones.

    ``fills`` are in order. What the totals rest on beside the costs is here too: the odometer and the member's times.
    """

    def __init__(self, book: CarBook) -> None:
        self.book, self.fills = book, in_order(book.fills)
        self.times = [time.period for time in own_times(book)]
        self.odometer = CarOdometer(book.readings, self.fills)

    @cached_property
    def costs(self) -> list[tuple[Cost, RunningTotal | None]]:
        """Every cost of the book, with its total, whatever its days.

        Instalments as paid have none, because the agreement says what they cost.
        """
        last = self.times[-1].last if self.times else date.max
        left_on = None if last == date.max else last
        return [
            (cost, None if cost.category in INSTALMENT_CATEGORIES else cost_total(cost, self.odometer, left_on))
            for cost in self.book.costs
        ]

    @cached_property
    def fuel(self) -> list[tuple[Fill, ByDays]]:
        """Every fill of the book, in order, with the days that it pays for."""
        return list(zip(self.fills, fuel_totals(self.fills), strict=True))
