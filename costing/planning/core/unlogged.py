"""Costs that a year with a car usually brings, and that a member's book does not have: then a plan is too good.

What is named has to be certain, so nothing is of a car that was only on loan, nor what a hire often has in its price.
"""

from collections.abc import Collection, Iterable, Sequence

from costing.core.catalogue.costs import INSURANCE, SERVICING, TYRES, VEHICLE_TAX
from costing.core.keeping import own_agreements, own_times
from costing.core.periods import overlap
from costing.core.records import CarBook, Period

#: What runs on every day with a car, so that any month has a part of it. Common practice, no source.
_AT_ALL_TIMES = (INSURANCE, VEHICLE_TAX)
#: What comes now and then, so that only a whole year without it lacks it.
_IN_A_YEAR = (SERVICING, TYRES)
_MONTHS_OF_A_YEAR = 12


def unlogged(books: Iterable[CarBook], months: Sequence[Period], costing: Collection[str]) -> tuple[str, ...]:
    """Return the names of the categories that usually cost something and for which nothing is logged.

    ``months`` are those that a plan rests on, in order; ``costing`` are the categories that cost something in them. A
    cost of nought is one that is logged: so a car that is exempt from vehicle tax has it.
    """
    own = [book for book in books if _is_kept(book, months)]
    if not own:
        return ()
    paid = {cost.category for book in own for cost in book.costs if months[0].first <= cost.paid_on <= months[-1].last}
    included = {name for book in own for held in own_agreements(book) for name in held.way.often_includes}
    asked = _AT_ALL_TIMES + (_IN_A_YEAR if len(months) >= _MONTHS_OF_A_YEAR else ())
    return tuple(one.name for one in asked if one.name not in {*costing, *paid, *included})


def _is_kept(book: CarBook, months: Sequence[Period]) -> bool:
    """Whether the member had the car in one of the months, and not only on loan."""
    times = [time.period for time in own_times(book) if not time.is_loan]
    return any(overlap(time, month) for time in times for month in months)
