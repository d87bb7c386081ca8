"""The costs and fills of a period: what each adds to its true cost, and what of each was paid in it."""

from datetime import date
from typing import Generic, NamedTuple, TypeVar

from costing.core.catalogue.costs import FUEL
from costing.core.parts import parts
from costing.core.records import Cost, Fill, Period
from costing.core.shares import RunningTotal
from costing.core.spent import Spent

#: Whatever the caller knows a car by.
Car = TypeVar("Car")


class Counted(NamedTuple, Generic[Car]):
    """A cost or fill of a car with its category: ``pence`` are true cost of a period, ``paid`` are money out in it.

    ``on`` is the day on which it was paid, and ``total`` what the pence are a part of; None of instalments as paid.
    """

    record: Cost | Fill
    category: str
    on: date
    pence: int
    paid: int
    total: RunningTotal | None
    car: Car


def counted(spent: Spent, period: Period, car: Car) -> list[Counted[Car]]:
    """Return what counts in a period of the book of a car, in any order: in its true cost, its money out, or both.

    The parts of the true cost are those of `parts`; what was paid adds up to `RunningCost.money_out`. Instalments as
    paid are money out alone. Of a car that the member never kept, nothing is in the member's figures.
    """
    if not spent.times:
        return []
    found, (first, last) = [], period
    for record, pence, total in parts(spent, period):
        category, on = (record.category, record.paid_on) if isinstance(record, Cost) else (FUEL.name, record.filled_on)
        paid = record.pence if first <= on <= last else 0
        if pence or paid:
            found.append(Counted(record, category, on, pence, paid, total, car))
    return found
