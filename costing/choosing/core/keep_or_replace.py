"""Keep or replace: what each further year of the present car costs, beside the equivalent yearly cost of another.

Repairs are assumed to rise in a straight line from year to year, and the car to lose the same share of its value every
year. Both figures come from the member's own records, or are typed in. Every cost counts at the end of its year, as
the equivalent yearly cost does.
"""

from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction
from itertools import pairwise
from typing import Literal, NamedTuple

from costing.core.money import divide_half_up

#: It takes at least so many years of records to draw a line through.
LEAST_YEARS = 3
#: How far each assumption is tried, as a share, when we look for the range in which the answer stays the same.
REACH: dict[str, tuple[Fraction, Fraction]] = {
    "repairs_rise": (Fraction(0), Fraction(2)),
    "value_loss": (Fraction(0), Fraction(9, 10)),
}
#: How often a span is halved: far finer than a share is ever shown.
_HALVINGS = 40

Assumption = Literal["repairs_rise", "value_loss"]


class KeptCar(NamedTuple):
    """The present car: its value and its running costs in pence, and yearly shares.

    ``repairs_per_year`` is for the coming year; every later year adds ``repairs_rise`` of it. ``other_by_year`` is all
    other running, and its last year goes on. ``discount_rate`` is what the money tied up in the car could earn.
    """

    value: int
    value_loss: Fraction
    repairs_per_year: int
    repairs_rise: Fraction
    other_by_year: tuple[int, ...]
    discount_rate: Fraction = Fraction(0)


class KeptYear(NamedTuple):
    """What one further year costs, in pence."""

    year: int
    value_lost: int
    repairs: int
    other: int
    tied_up: int = 0

    @property
    def pence(self) -> int:
        return self.value_lost + self.repairs + self.other + self.tied_up


class RepairYear(NamedTuple):
    """What repairs cost in one year, in pence, and the odometer half-way through it."""

    miles: int
    pence: int


class Trend(NamedTuple):
    """The repairs of the coming year, in pence, and the share of them that every later year adds."""

    next_year: int
    rise: Fraction


class AnswerRange(NamedTuple):
    """The range of an assumption within which the answer stays the same; None where it has no end that we tried."""

    low: Fraction | None
    high: Fraction | None


def repairs_trend(years: Sequence[RepairYear], odometer: int, miles_per_year: Fraction) -> Trend | None:
    """A least-squares line of repairs over miles, read half-way through each coming year.

    None with fewer than three years, or with no miles between them. A falling line is taken as level at the average,
    because a car doesn't mend as it ages.
    """
    if len(years) < LEAST_YEARS or len({year.miles for year in years}) < 2:
        return None
    miles = Fraction(sum(year.miles for year in years), len(years))
    pence = Fraction(sum(year.pence for year in years), len(years))
    apart = sum(((year.miles - miles) ** 2 for year in years), Fraction(0))
    together = sum(((year.miles - miles) * year.pence for year in years), Fraction(0))
    slope = max(Fraction(0), together / apart)
    coming = pence + slope * (odometer + miles_per_year / 2 - miles)
    return Trend(divide_half_up(coming, 1), slope * miles_per_year / coming if coming else Fraction(0))


def years_of_keeping(car: KeptCar, years: int) -> list[KeptYear]:
    """What each further year of keeping the car costs, starting with the coming one."""
    keeps = 1 - car.value_loss
    values = [divide_half_up(car.value * keeps**year, 1) for year in range(years + 1)]
    return [
        KeptYear(
            year + 1,
            values[year] - values[year + 1],
            divide_half_up(_repairs(car, year), 1),
            _other(car, year),
            divide_half_up(values[year] * car.discount_rate, 1),
        )
        for year in range(years)
    ]


def equivalent_yearly_cost(present_value: int, months: int, yearly: Fraction) -> int:
    """Pence a year that, paid at the end of each year, are worth ``present_value`` over ``months`` at a yearly rate.

    This is the annuity formula of any textbook; at a rate of zero it is the plain average.
    """
    years = Fraction(months, 12)
    if not yearly:
        return divide_half_up(present_value, years)
    growth = float(1 + yearly) ** float(years)
    return divide_half_up(Fraction(present_value * float(yearly) / (1 - 1 / growth)), 1)


def year_to_replace(kept: Sequence[KeptYear], other_per_year: int) -> int | None:
    """The first year in which keeping costs more than the other car does a year; None if it never does."""
    return next((year.year for year in kept if year.pence > other_per_year), None)


def answer_range(car: KeptCar, years: int, other_per_year: int, assumption: Assumption) -> AnswerRange:
    """How far one assumption may go, with the other unchanged, before the year to replace in changes.

    It is solved: we find where each year costs as much as the other car, and take the nearest such point on either
    side beyond which the answer is different.
    """

    def answer(value: Fraction) -> int | None:
        return year_to_replace(years_of_keeping(_with(car, assumption, value), years), other_per_year)

    base = car.repairs_rise if assumption == "repairs_rise" else car.value_loss
    least, most = REACH[assumption]
    points = sorted(_break_evens(car, years, other_per_year, assumption))
    present = answer(base)
    return AnswerRange(
        _first_change([*reversed([point for point in points if point < base]), least], answer, present),
        _first_change([*(point for point in points if point > base), most], answer, present),
    )


def _first_change(
    points: list[Fraction], answer: Callable[[Fraction], int | None], present: int | None
) -> Fraction | None:
    """The first of ``points``, going away from the base, beyond which the answer is different."""
    for point, beyond in pairwise(points):
        if answer((point + beyond) / 2) != present:
            return point
    return None


def _break_evens(car: KeptCar, years: int, other_per_year: int, assumption: Assumption) -> Iterator[Fraction]:
    """Every value of the assumption at which one year of keeping costs as much as the other car."""
    for year in range(years):
        least, most = REACH[assumption]
        nodes = [least, most]
        if assumption == "value_loss":
            # Up to here a later year loses more as the share grows; beyond it, too little value is left to lose.
            turns = (1 - year * car.discount_rate) / (year + 1)
            nodes = sorted({least, min(max(least, turns), most), most})

        def dearer(value: Fraction, year: int = year) -> bool:
            return _exact_cost(_with(car, assumption, value), year) > other_per_year

        yield from (_break_even(dearer, low, high) for low, high in pairwise(nodes) if dearer(low) != dearer(high))


def _break_even(dearer: Callable[[Fraction], bool], low: Fraction, high: Fraction) -> Fraction:
    at_low = dearer(low)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if dearer(middle) == at_low else (low, middle)
    return high


def _with(car: KeptCar, assumption: Assumption, value: Fraction) -> KeptCar:
    return car._replace(repairs_rise=value) if assumption == "repairs_rise" else car._replace(value_loss=value)


def _exact_cost(car: KeptCar, year: int) -> Fraction:
    """What one year of keeping costs before any rounding; the coming year is year 0."""
    tied_up_and_lost = car.value * (1 - car.value_loss) ** year * (car.value_loss + car.discount_rate)
    return tied_up_and_lost + _repairs(car, year) + _other(car, year)


def _repairs(car: KeptCar, year: int) -> Fraction:
    return car.repairs_per_year * (1 + car.repairs_rise * year)


def _other(car: KeptCar, year: int) -> int:
    return car.other_by_year[min(year, len(car.other_by_year) - 1)]
