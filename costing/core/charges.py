"""Everything that makes up a car's true cost, as running totals by category."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from decimal import Decimal
from itertools import chain, zip_longest
from typing import NamedTuple

from costing.core.catalogue.costs import DEPRECIATION, FUEL, INSTALMENT_CATEGORIES, INTEREST, RENTAL
from costing.core.depreciation import estimated_loss, known_losses, owned_spans
from costing.core.finance import hire_schedule, interest_schedule, rolled_on
from costing.core.keeping import InTimes, OnOwnDays, own_agreements, own_times
from costing.core.odometer import CarOdometer
from costing.core.periods import ONE_DAY
from costing.core.records import Agreement, CarBook, Cost, Fill, Unit
from costing.core.shares import ByDays, InTurn, RunningTotal, share


class Charge(NamedTuple):
    """A running total of pence, its category, whether it is an estimate, and the entry that it is of, if of one."""

    category: str
    total: RunningTotal
    estimated: bool = False
    record: Cost | Fill | None = None


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


def paid(book: CarBook, odometer: CarOdometer, fills: Sequence[Fill]) -> Iterator[Charge]:
    """Yield every cost and fill of a book that the true cost has a part of, whatever its days.

    In a member's own book, all that the member paid counts inside the member's times with the car. Instalments as paid
    are left out, because the agreement says what they cost. ``odometer`` and ``fills``, in order, are the car's own.
    """
    of_fills = (Charge(FUEL.name, span, record=fill) for fill, span in zip(fills, fuel_totals(fills), strict=True))
    return _in_times(book, chain(_costs(book, odometer), of_fills))


def charges(
    book: CarBook, odometer: CarOdometer, fills: Sequence[Fill], depreciation_rate: Decimal
) -> Iterator[Charge]:
    """Yield every charge of a book, whatever its days: what was `paid`, and what it costs to hold the car.

    Sums that follow one another are one charge. In a member's own book, interest, hire and loss of value count as far
    as they fall on the member's days.
    """
    yield from _in_times(book, chain(_costs(book, odometer), _fuel(fills)))
    if book.whose is None:
        yield from _held(book, depreciation_rate)
    elif times := [time.period for time in own_times(book)]:
        for category, total, estimated, _ in _held(book, depreciation_rate):
            yield Charge(category, OnOwnDays(total, times), estimated)


def _in_times(book: CarBook, of_all: Iterable[Charge]) -> Iterator[Charge]:
    """Yield what counts of charges for what was paid: in a member's own book all, but inside the member's times."""
    if book.whose is None:
        yield from of_all
    elif times := [time.period for time in own_times(book)]:
        for category, total, estimated, record in of_all:
            yield Charge(category, InTimes(total, times), estimated, record)


def _costs(book: CarBook, odometer: CarOdometer) -> Iterator[Charge]:
    times = own_times(book)
    last = times[-1].period.last if times else date.max
    for cost in book.costs:
        if cost.category not in INSTALMENT_CATEGORIES:
            total = cost_total(cost, odometer, None if last == date.max else last)
            if total is not None:
                yield Charge(cost.category, total, record=cost)


def _fuel(fills: Sequence[Fill]) -> Iterator[Charge]:
    by_unit: dict[Unit, list[ByDays]] = defaultdict(list)
    for fill, span in zip(fills, fuel_totals(fills), strict=True):
        by_unit[fill.unit].append(span)
    yield from (Charge(FUEL.name, _in_turn(spans)) for spans in by_unit.values())


def _in_turn(spans: Sequence[ByDays]) -> InTurn:
    return InTurn(spans, (span.amount for span in spans))


def _held(book: CarBook, depreciation_rate: Decimal) -> Iterator[Charge]:
    """Yield what it costs to hold the car: interest, hire and loss of value."""
    agreements = own_agreements(book)
    for agreement, following in zip_longest(agreements, agreements[1:]):
        if spans := interest_schedule(agreement):
            yield Charge(INTEREST.name, _in_turn(spans))
        for span in hire_schedule(agreement):
            yield Charge(RENTAL.name, span)
        if rolling := rolled_on(agreement, _ends_on(book, following)):
            yield Charge(RENTAL.name, rolling)
    for owned in owned_spans(book):
        if losses := list(known_losses(owned.points)):
            yield Charge(DEPRECIATION.name, _in_turn(losses))
        estimate = estimated_loss(owned, book.service.last, depreciation_rate)
        if estimate is not None:
            yield Charge(DEPRECIATION.name, estimate, estimated=True)


def _ends_on(book: CarBook, following: Agreement | None) -> date:
    """Return the last day of a hire that goes on past its term: until the next agreement, or the end of the service."""
    last = book.service.last or date.max
    return last if following is None else min(last, following.starts_on - ONE_DAY)
