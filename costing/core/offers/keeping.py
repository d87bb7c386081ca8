"""Keep or replace: what another year of the car one has costs, beside the equivalent yearly cost of another.

Repairs are taken to rise year by year in a straight line, as they do along the miles in the records they are read
off; the car's value to fall by a stated share a year. Both are assumptions of whoever asks, or from their own
records. Every year is counted at its end, as the equivalent yearly cost is.
"""

from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction
from itertools import pairwise
from typing import Literal, NamedTuple

from costing.core.money import divide_half_up

#: Fewer years of records than this make no line.
LEAST_YEARS = 3
#: How far the assumptions are followed when it is asked where an answer holds, as shares.
REACH: dict[str, tuple[Fraction, Fraction]] = {
    "repairs_rise": (Fraction(0), Fraction(2)),
    "value_loss": (Fraction(0), Fraction(9, 10)),
}
#: Halvings of a span: far finer than a share is ever shown.
_HALVINGS = 40

Assumption = Literal["repairs_rise", "value_loss"]


class KeptCar(NamedTuple):
    """The car one has: its value now and what running it costs, in pence; shares a year.

    ``repairs_per_year`` are those of the coming year, ``repairs_rise`` the share of them by which each later year's
    are dearer. ``other_by_year`` is all of its running but repairs, the last going on. ``discount_rate`` is what
    the money that is tied up in the car could earn.
    """

    value: int
    value_loss: Fraction
    repairs_per_year: int
    repairs_rise: Fraction
    other_by_year: tuple[int, ...]
    discount_rate: Fraction = Fraction(0)


class KeptYear(NamedTuple):
    """One more year: what it costs, in pence, by what it is made of."""

    year: int
    value_lost: int
    repairs: int
    other: int
    tied_up: int = 0

    @property
    def pence(self) -> int:
        return self.value_lost + self.repairs + self.other + self.tied_up


class RepairYear(NamedTuple):
    """What repairs came to in one year, in pence, and the odometer half-way through it."""

    miles: int
    pence: int


class Trend(NamedTuple):
    """The repairs of the coming year, in pence, and the share of them by which each later year's are dearer."""

    next_year: int
    rise: Fraction


class Holds(NamedTuple):
    """From where to where an assumption may go before the answer changes; None: as far as it was followed."""

    low: Fraction | None
    high: Fraction | None


def repairs_trend(years: Sequence[RepairYear], odometer: int, miles_per_year: Fraction) -> Trend | None:
    """The straight line of repairs over miles by least squares, read half-way through the coming years.

    None with fewer than three years, or if no miles lie between them. A line that falls is taken as level at the
    average: a car does not mend with its miles.
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
    """What each further year of keeping the car costs, the first being the next."""
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
    """Pence a year that, paid at the end of each, are worth ``present_value`` over ``months`` at a yearly rate.

    The annuity of the textbooks; at a rate of nought the plain average.
    """
    years = Fraction(months, 12)
    if not yearly:
        return divide_half_up(present_value, years)
    growth = float(1 + yearly) ** float(years)
    return divide_half_up(Fraction(present_value * float(yearly) / (1 - 1 / growth)), 1)


def year_to_replace(kept: Sequence[KeptYear], other_per_year: int) -> int | None:
    """The first year whose keeping costs more than the other car does a year; None if none of them does."""
    return next((year.year for year in kept if year.pence > other_per_year), None)


def answer_holds(car: KeptCar, years: int, other_per_year: int, assumption: Assumption) -> Holds:
    """How far one assumption may go, the other left as it is, before another year becomes the one to replace in.

    Solved: each year's cost is set equal to the other car's, and the nearest such point on either side at which
    the answer is another one is taken.
    """

    def answer(value: Fraction) -> int | None:
        return year_to_replace(years_of_keeping(_with(car, assumption, value), years), other_per_year)

    base = car.repairs_rise if assumption == "repairs_rise" else car.value_loss
    least, most = REACH[assumption]
    points = sorted(_meetings(car, years, other_per_year, assumption))
    stands = answer(base)
    return Holds(
        _first_change([*reversed([point for point in points if point < base]), least], answer, stands),
        _first_change([*(point for point in points if point > base), most], answer, stands),
    )


def _first_change(
    points: list[Fraction], answer: Callable[[Fraction], int | None], stands: int | None
) -> Fraction | None:
    """The first of ``points``, going away from the base, beyond which the answer is another one."""
    for point, beyond in pairwise(points):
        if answer((point + beyond) / 2) != stands:
            return point
    return None


def _meetings(car: KeptCar, years: int, other_per_year: int, assumption: Assumption) -> Iterator[Fraction]:
    """Every value of the assumption at which some year's keeping costs what the other car does."""
    for year in range(years):
        least, most = REACH[assumption]
        nodes = [least, most]
        if assumption == "value_loss":
            # What is lost in a later year grows with the share up to this, then less is left to lose.
            turns = (1 - year * car.discount_rate) / (year + 1)
            nodes = sorted({least, min(max(least, turns), most), most})

        def dearer(value: Fraction, year: int = year) -> bool:
            return _exact_cost(_with(car, assumption, value), year) > other_per_year

        yield from (_meeting(dearer, low, high) for low, high in pairwise(nodes) if dearer(low) != dearer(high))


def _meeting(dearer: Callable[[Fraction], bool], low: Fraction, high: Fraction) -> Fraction:
    at_low = dearer(low)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if dearer(middle) == at_low else (low, middle)
    return high


def _with(car: KeptCar, assumption: Assumption, value: Fraction) -> KeptCar:
    return car._replace(repairs_rise=value) if assumption == "repairs_rise" else car._replace(value_loss=value)


def _exact_cost(car: KeptCar, year: int) -> Fraction:
    """One year's keeping before any rounding, the next being year nought."""
    tied_up_and_lost = car.value * (1 - car.value_loss) ** year * (car.value_loss + car.discount_rate)
    return tied_up_and_lost + _repairs(car, year) + _other(car, year)


def _repairs(car: KeptCar, year: int) -> Fraction:
    return car.repairs_per_year * (1 + car.repairs_rise * year)


def _other(car: KeptCar, year: int) -> int:
    return car.other_by_year[min(year, len(car.other_by_year) - 1)]
