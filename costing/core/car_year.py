"""What a member's own records say of a year with a car: its running costs and its use.

Keys and units are those of an offers document: pounds a year, pence a mile.
"""

from collections.abc import Collection, Iterable, Iterator
from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple

from costing.core.catalogue.running import AS_PAID, FUEL, INSURANCE, RunningPart, When
from costing.core.group import MINIMUM_SERVICE_DAYS, fuel_key
from costing.core.keeping import days_with_a_car
from costing.core.known import so_far
from costing.core.periods import days_in
from costing.core.records import CarBook, Cost, Period
from costing.core.running_cost import RunningCost, running_cost

#: Parts that are used up evenly, so that their true cost gives a year's. For the other parts, except fuel, the book
#: takes what was last paid for a whole one: a year's premium, a set of tyres, a fit-out.
_BY_YEAR = tuple(part for part in AS_PAID if part.when in {When.YEAR_STARTS, When.YEAR_ENDS_WITH_MOT, When.MONTHLY})
_BOUGHT = tuple(part for part in AS_PAID if part.when in {When.PREMIUMS, When.BY_SET, When.AT_START})
#: Cover of so many days is a year's, leap year or not.
_WHOLE_YEAR = (365, 366)


class CarYear(NamedTuple):
    """One year, scaled up from the days in service; what the records do not tell is absent.

    ``running`` has pounds a year for one car, or pence or miles where its key says so. Miles and lesson hours are
    those of all the cars together.
    """

    running: dict[str, Fraction]
    miles: Fraction | None = None
    private_miles: Fraction = Fraction(0)
    lesson_hours: Fraction | None = None


def car_year(books: Collection[CarBook], period: Period) -> CarYear:
    """Return a year of a member's cars by their books over ``period``; empty under 28 days in service.

    Fuel, miles and lesson hours are taken from the days for which they are known, and absent if these are under 28.
    """
    days = days_with_a_car(books, period)
    if days < MINIMUM_SERVICE_DAYS:
        return CarYear({})
    car_days = sum(days_with_a_car([book], period) for book in books)
    running = dict(_by_year(_costs(books, period), Fraction(days_in(period), car_days), _BY_YEAR))
    running.update(_bought(books, period))
    known, _ = so_far(list(books), period)
    if known is None or (known_days := days_with_a_car(books, known)) < MINIMUM_SERVICE_DAYS:
        return CarYear(running)
    costs = _costs(books, known)
    running.update((FUEL.key, pence) for pence in _fuel(costs))
    to_a_year = Fraction(days_in(period), known_days)
    miles = sum(cost.miles or 0 for cost in costs)
    minutes = sum(cost.minutes or 0 for cost in costs)
    return CarYear(
        running,
        miles=miles * to_a_year if miles > 0 else None,
        private_miles=sum(cost.private_miles or 0 for cost in costs) * to_a_year,
        lesson_hours=Fraction(minutes, 60) * to_a_year if minutes else None,
    )


def running_by_true_cost(cars: Collection[tuple[str, CarBook]], period: Period) -> dict[str, Fraction]:
    """Return a year's running costs by true cost, with the keys of `group.RUNNING_STEPS`; each car comes with its fuel.

    They are pounds a year for one car, and pence a mile for each fuel. A part without spending is absent.
    """
    # The rate has no effect, because loss of value and interest are left out.
    costs = [(fuel, running_cost(book, period, depreciation_rate=Decimal(0))) for fuel, book in cars]
    car_days = sum(days_with_a_car([book], period) for _, book in cars)
    found = dict(_by_year([cost for _, cost in costs], Fraction(days_in(period), car_days), (*_BY_YEAR, INSURANCE)))
    for fuel in sorted({fuel for fuel, _ in costs}):
        for pence in _fuel([cost for of, cost in costs if of == fuel]):
            found[fuel_key(fuel)] = pence
    return found


def _costs(books: Iterable[CarBook], period: Period) -> list[RunningCost]:
    # The rate has no effect, because loss of value and interest are left out.
    return [running_cost(book, period, depreciation_rate=Decimal(0)) for book in books]


def _fuel(costs: Collection[RunningCost]) -> Iterator[Fraction]:
    """Yield pence a mile of the cars that were filled, if any was."""
    fuelled = [cost for cost in costs if (cost.miles or 0) > 0 and FUEL.category.name in cost.by_category]
    if fuelled:
        pence = sum(cost.by_category[FUEL.category.name] for cost in fuelled)
        yield Fraction(pence, sum(cost.miles or 0 for cost in fuelled))


def _by_year(
    costs: Collection[RunningCost], to_a_year: Fraction, parts: Iterable[RunningPart]
) -> Iterator[tuple[str, Fraction]]:
    """Yield pounds a year by key, from the cost category of each part."""
    for part in parts:
        pence = sum(cost.by_category.get(part.category.name, 0) for cost in costs)
        if pence > 0:
            yield part.key, pence * to_a_year / 100


def _bought(books: Collection[CarBook], period: Period) -> Iterator[tuple[str, Fraction]]:
    """Yield what was last paid for a whole: a year's premium, a set of tyres, a fit-out."""
    for part in _BOUGHT:
        if cost := _last(books, period, part.category.name):
            yield part.key, (_yearly(cost) if part.when is When.PREMIUMS else Fraction(cost.pence)) / 100
            if part.life_key and cost.covers_miles:
                yield part.life_key, Fraction(cost.covers_miles)


def _last(books: Collection[CarBook], period: Period, category: str) -> Cost | None:
    paid = (cost for book in books for cost in book.costs if cost.category == category and cost.pence > 0)
    return max((cost for cost in paid if cost.paid_on <= period.last), key=lambda cost: cost.paid_on, default=None)


def _yearly(cost: Cost) -> Fraction:
    """Return the pence of a year of cover that may be shorter; cover without days counts as a year's."""
    if cost.covers_from is None or cost.covers_to is None:
        return Fraction(cost.pence)
    days = days_in(Period(cost.covers_from, cost.covers_to))
    return Fraction(cost.pence) if days in _WHOLE_YEAR else Fraction(cost.pence * 365, days)
