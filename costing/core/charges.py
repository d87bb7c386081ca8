"""Everything that makes up a car's true cost, as running totals by category."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from decimal import Decimal
from itertools import chain, zip_longest
from operator import attrgetter
from typing import NamedTuple

from costing.core.catalogue.costs import DEPRECIATION, FUEL, INSTALMENT_CATEGORIES, INTEREST, RENTAL
from costing.core.depreciation import estimated_loss, known_losses, owned_spans
from costing.core.finance import hire_schedule, interest_schedule, rolled_on
from costing.core.keeping import InTimes, OnOwnDays, own_agreements, own_times
from costing.core.odometer import CarOdometer
from costing.core.periods import ONE_DAY
from costing.core.records import Agreement, CarBook, Cost, Fill, Period, Unit
from costing.core.shares import ByDays, RunningTotal, in_turn, share


class Charge(NamedTuple):
    """A running total of pence, its category, and whether it is an estimate."""

    category: str
    total: RunningTotal
    estimated: bool = False


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


#: A cost or fill, and how much of it counts by any day.
Paid = tuple[Cost | Fill, RunningTotal]


def paid(book: CarBook, odometer: CarOdometer, fills: Sequence[Fill]) -> Iterator[Paid]:
    """Yield every cost and fill of a book that the true cost has a part of, whatever its days.

    In a member's own book, all that the member paid counts inside the member's times with the car. Instalments as paid
    are left out, because the agreement says what they cost. ``odometer`` and ``fills``, in order, are the car's own.
    """
    of_costs: Iterator[Paid] = _costs(book, odometer)
    every = chain(of_costs, zip(fills, fuel_totals(fills), strict=True))
    if book.whose is None:
        yield from every
    elif times := [time.period for time in own_times(book)]:
        for record, total in every:
            yield record, _in_times(total, times)


def charges(
    book: CarBook, odometer: CarOdometer, fills: Sequence[Fill], depreciation_rate: Decimal
) -> Iterator[Charge]:
    """Yield every charge of a book, whatever its days: what was `paid`, and what it costs to hold the car.

    Sums that follow one another are one charge. In a member's own book, interest, hire and loss of value count as far
    as they fall on the member's days.
    """
    spent, held = chain(_bought(book, odometer), _fuel(fills)), _held(book, depreciation_rate)
    if book.whose is None:
        yield from chain(spent, held)
    elif times := [time.period for time in own_times(book)]:
        yield from (Charge(category, _in_times(total, times)) for category, total, _ in spent)
        for category, total, estimated in held:
            yield Charge(category, total if _is_within(total, times) else OnOwnDays(total, times), estimated)


def _in_times(total: RunningTotal, times: Sequence[Period]) -> RunningTotal:
    return total if _is_within(total, times) else InTimes(total, times)


def _is_within(total: RunningTotal, times: Iterable[Period]) -> bool:
    """Say whether all days of a sum lie in one of the times."""
    first, last = total.first, total.last
    return any(begins_on <= first and last <= ends_on for begins_on, ends_on in times)


def _costs(book: CarBook, odometer: CarOdometer) -> Iterator[tuple[Cost, RunningTotal]]:
    times = own_times(book)
    last = times[-1].period.last if times else date.max
    for cost in book.costs:
        if cost.category not in INSTALMENT_CATEGORIES:
            total = cost_total(cost, odometer, None if last == date.max else last)
            if total is not None:
                yield cost, total


def _bought(book: CarBook, odometer: CarOdometer) -> Iterator[Charge]:
    """Yield the costs: those charged on one day by category, and each one that is shared."""
    at_once: dict[str, list[RunningTotal]] = defaultdict(list)
    for cost, total in _costs(book, odometer):
        if total.first == total.last:
            at_once[cost.category].append(total)
        else:
            yield Charge(cost.category, total)
    for category, totals in at_once.items():
        yield Charge(category, in_turn(sorted(totals, key=attrgetter("first"))))


def _fuel(fills: Sequence[Fill]) -> Iterator[Charge]:
    by_unit: dict[Unit, list[ByDays]] = defaultdict(list)
    for fill, span in zip(fills, fuel_totals(fills), strict=True):
        by_unit[fill.unit].append(span)
    yield from (Charge(FUEL.name, in_turn(spans)) for spans in by_unit.values())


def _held(book: CarBook, depreciation_rate: Decimal) -> Iterator[Charge]:
    """Yield what it costs to hold the car: interest, hire and loss of value."""
    agreements = own_agreements(book)
    for agreement, following in zip_longest(agreements, agreements[1:]):
        if spans := interest_schedule(agreement):
            yield Charge(INTEREST.name, in_turn(spans))
        for span in hire_schedule(agreement):
            yield Charge(RENTAL.name, span)
        if rolling := rolled_on(agreement, _ends_on(book, following)):
            yield Charge(RENTAL.name, rolling)
    for owned in owned_spans(book):
        if losses := list(known_losses(owned.points)):
            yield Charge(DEPRECIATION.name, in_turn(losses))
        estimate = estimated_loss(owned, book.service.last, depreciation_rate)
        if estimate is not None:
            yield Charge(DEPRECIATION.name, estimate, estimated=True)


def _ends_on(book: CarBook, following: Agreement | None) -> date:
    """Return the last day of a hire that goes on past its term: until the next agreement, or the end of the service."""
    last = book.service.last or date.max
    return last if following is None else min(last, following.starts_on - ONE_DAY)
