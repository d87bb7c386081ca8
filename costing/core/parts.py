"""What each cost and fill adds to the true cost of a period: the entries behind a figure."""

from typing import NamedTuple

from costing.core.charges import paid
from costing.core.keeping import that_count
from costing.core.periods import ONE_DAY
from costing.core.records import CarBook, Cost, Fill, Period
from costing.core.use import Use


class Part(NamedTuple):
    """A cost or fill, the category of the true cost that it is a part of, and its pence there, which are never 0."""

    record: Cost | Fill
    category: str
    pence: int


def parts(book: CarBook, period: Period) -> list[Part]:
    """Return what each cost and fill of a book adds to the `running_cost` of a period.

    They add up to each of its categories but those of holding the car: interest, hire and loss of value.
    """
    use, spans = Use(book), that_count(book, period)
    used = (
        Part(one.record, one.category, sum(one.total.by(last) - one.total.by(first - ONE_DAY) for first, last in spans))
        for one in paid(book, use.odometer, use.fills)
    )
    return [part for part in used if part.pence]
