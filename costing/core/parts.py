"""What each cost and fill adds to the true cost of a period: the entries behind a figure."""

from typing import NamedTuple

from costing.core.catalogue.costs import FUEL
from costing.core.charges import paid
from costing.core.economy import in_order
from costing.core.odometer import CarOdometer
from costing.core.periods import ONE_DAY
from costing.core.records import CarBook, Cost, Fill, Period
from costing.core.shares import RunningTotal, used_in


class Part(NamedTuple):
    """A cost or fill, the category of the true cost that it is a part of, and its pence there, which are never 0.

    ``total`` is what they are a part of: `shifted` says what of them counts on another day than its own.
    """

    record: Cost | Fill
    category: str
    pence: int
    total: RunningTotal


def parts(book: CarBook, period: Period) -> list[Part]:
    """Return what each cost and fill of a book adds to the `running_cost` of a period.

    They add up to each of its categories but those of holding the car: interest, hire and loss of value.
    """
    fills, before = in_order(book.fills), period.first - ONE_DAY
    return [
        Part(record, record.category if isinstance(record, Cost) else FUEL.name, pence, total)
        for record, total in paid(book, CarOdometer(book.readings, fills), fills)
        if (pence := used_in(total, before, period.last))
    ]
