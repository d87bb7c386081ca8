"""The costs and fills of a period: what each adds to its true cost, and what of each was paid in it."""

from collections import Counter
from collections.abc import Iterator
from datetime import date
from typing import NamedTuple

from costing.core.catalogue.costs import FUEL
from costing.core.keeping import own_times
from costing.core.parts import parts
from costing.core.records import CarBook, Cost, Fill, Period


class Counted(NamedTuple):
    """A cost or fill with its category: ``pence`` of it are true cost of a period, ``paid`` are money out in it."""

    record: Cost | Fill
    category: str
    pence: int
    paid: int

    @property
    def on(self) -> date:
        """The day on which it was paid."""
        return _day(self.record)


def counted(book: CarBook, period: Period) -> list[Counted]:
    """Return what counts in a period of a book, newest first: in its true cost, its money out, or both.

    The parts of the true cost are those of `parts`; what was paid adds up to `RunningCost.money_out`. Instalments as
    paid are money out alone.
    """
    pence: Counter[Cost | Fill] = Counter()
    for part in parts(book, period):
        pence[part.record] += part.pence
    paid: Counter[Cost | Fill] = Counter()
    for record in _paid_in(book, period):
        paid[record] += record.pence
    found = [Counted(record, _category(record), pence[record], paid[record]) for record in {**pence, **paid}]
    return sorted(found, key=lambda one: (one.on, one.record.key or 0), reverse=True)


def _paid_in(book: CarBook, period: Period) -> Iterator[Cost | Fill]:
    """Yield what was paid in the period; of a car that the member never kept, nothing is in the member's figures."""
    if own_times(book):
        records: list[Cost | Fill] = [*book.costs, *book.fills]
        yield from (one for one in records if one.pence and period.first <= _day(one) <= period.last)


def _day(record: Cost | Fill) -> date:
    return record.paid_on if isinstance(record, Cost) else record.filled_on


def _category(record: Cost | Fill) -> str:
    return record.category if isinstance(record, Cost) else FUEL.name
