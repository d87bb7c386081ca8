"""Everything that makes up a car's true cost, as running totals by category."""

from collections import defaultdict
from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from itertools import chain, zip_longest
from operator import attrgetter
from typing import NamedTuple

from costing.core.catalogue.costs import DEPRECIATION, FUEL, INTEREST, RENTAL
from costing.core.depreciation import estimated_loss, known_losses, owned_spans
from costing.core.finance import hire_schedule, interest_schedule, rolled_on
from costing.core.keeping import OnOwnDays, in_times, is_within, own_agreements
from costing.core.periods import ONE_DAY
from costing.core.records import Agreement, CarBook, Unit
from costing.core.shares import ByDays, RunningTotal, in_turn
from costing.core.spent import Spent


class Charge(NamedTuple):
    """A running total of pence, its category, and whether it is an estimate."""

    category: str
    total: RunningTotal
    estimated: bool = False


def charges(spent: Spent, depreciation_rate: Decimal) -> Iterator[Charge]:
    """Yield every charge of a book, whatever its days: what was paid, and what it costs to hold the car.

    Sums that follow one another are one charge. In a member's own book, all that the member paid counts inside the
    member's times with the car; interest, hire and loss of value count as far as they fall on the member's days.
    """
    paid, held = chain(_bought(spent), _fuel(spent)), _held(spent.book, depreciation_rate)
    if spent.book.whose is None:
        yield from chain(paid, held)
    elif spent.times:
        yield from (Charge(category, in_times(total, spent.times)) for category, total, _ in paid)
        for category, total, estimated in held:
            is_whole = is_within(total, spent.times)
            yield Charge(category, total if is_whole else OnOwnDays(total, spent.times), estimated)


def _bought(spent: Spent) -> Iterator[Charge]:
    """Yield the costs: those charged on one day by category, and each one that is shared."""
    at_once: dict[str, list[RunningTotal]] = defaultdict(list)
    for cost, total in spent.costs:
        if total is None:
            continue
        if total.first == total.last:
            at_once[cost.category].append(total)
        else:
            yield Charge(cost.category, total)
    for category, totals in at_once.items():
        yield Charge(category, in_turn(sorted(totals, key=attrgetter("first"))))


def _fuel(spent: Spent) -> Iterator[Charge]:
    by_unit: dict[Unit, list[ByDays]] = defaultdict(list)
    for fill, span in spent.fuel:
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
