"""The costs and fills of a period: what each adds to its true cost, and what of each was paid in it."""

from collections.abc import Iterator
from datetime import date
from typing import NamedTuple

from costing.core.catalogue.costs import FUEL
from costing.core.keeping import own_times
from costing.core.parts import parts
from costing.core.records import CarBook, Cost, Fill, Period
from costing.core.shares import RunningTotal


class Counted(NamedTuple):
    """A cost or fill with its category: ``pence`` of it are true cost of a period, ``paid`` are money out in it.

    ``total`` is what the pence are a part of; None if they are none.
    """

    record: Cost | Fill
    category: str
    pence: int
    paid: int
    total: RunningTotal | None = None

    @property
    def on(self) -> date:
        """The day on which it was paid."""
        return _day(self.record)


def counted(book: CarBook, period: Period) -> list[Counted]:
    """Return what counts in a period of a book, in any order: in its true cost, its money out, or both.

    The parts of the true cost are those of `parts`; what was paid adds up to `RunningCost.money_out`. Instalments as
    paid are money out alone.
    """
    # A record is known by being the same object: to compare all of two records takes longer than to share their sums.
    paid = {id(record): record for record in _paid_in(book, period)}
    found = [
        Counted(record, category, pence, record.pence if paid.pop(id(record), None) else 0, total)
        for record, category, pence, total in parts(book, period)
    ]
    return found + [Counted(record, _category(record), 0, record.pence) for record in paid.values()]


def _paid_in(book: CarBook, period: Period) -> Iterator[Cost | Fill]:
    """Yield what was paid in the period; of a car that the member never kept, nothing is in the member's figures."""
    if own_times(book):
        first, last = period
        yield from (cost for cost in book.costs if cost.pence and first <= cost.paid_on <= last)
        yield from (fill for fill in book.fills if fill.pence and first <= fill.filled_on <= last)


def _day(record: Cost | Fill) -> date:
    return record.paid_on if isinstance(record, Cost) else record.filled_on


def _category(record: Cost | Fill) -> str:
    return record.category if isinstance(record, Cost) else FUEL.name
