"""What each cost and fill adds to the true cost of a period: the entries behind a figure."""

from collections.abc import Iterator
from itertools import chain

from costing.core.keeping import in_times, is_within
from costing.core.periods import ONE_DAY
from costing.core.records import Cost, Fill, Period
from costing.core.shares import RunningTotal, used_in
from costing.core.spent import Spent

#: A cost or fill, the pence of it that are true cost of a period, often 0, and the total that they are a part of, of
#: which `shifted` says what counts on another day than its own.
Part = tuple[Cost | Fill, int, RunningTotal | None]


def parts(spent: Spent, period: Period) -> Iterator[Part]:
    """Yield each cost and fill of a book with what it adds to the `running_cost` of a period.

    Together they are each of its categories but those of holding the car: interest, hire and loss of value. In a
    member's own book, all that the member paid counts inside the member's times with the car.
    """
    before, last = period.first - ONE_DAY, period.last
    for record, total in _counting(spent):
        yield record, 0 if total is None else used_in(total, before, last), total


def _counting(spent: Spent) -> Iterator[tuple[Cost | Fill, RunningTotal | None]]:
    """Yield each cost and fill with its total as it counts in the figures of the book."""
    fills, times = spent.fills, spent.times
    if spent.book.whose is None:
        yield from chain(spent.costs, spent.fuel)
    elif times:
        yield from ((cost, total and in_times(total, times)) for cost, total in spent.costs)
        # No fill pays for a day before the first of them.
        if fills and is_within(Period(fills[0].filled_on, fills[-1].filled_on), times):
            yield from spent.fuel
        else:
            yield from ((fill, in_times(total, times)) for fill, total in spent.fuel)
