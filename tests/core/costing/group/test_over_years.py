"""What two years of closings tell of one member to all the others in league, who know all else.

The attackers' arithmetic is their own: they try what the victim may have spent in each month and year, keep what would
have looked the same, and SciPy's HiGHS finds the least and the most that any month or year can have been under all of
it.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Collection, Iterable, Sequence
from fractions import Fraction
from random import Random
from typing import NamedTuple

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from costing.core.group import (
    ClosedPeriod,
    Closing,
    Contribution,
    ContributorValues,
    Rounding,
    close_month,
    close_year,
    told_of_each,
)
from costing.core.records import Period
from tests.core.costing.group.values import brought, month, up_to

STEP, QUARTER = 20, 5
MONTHS = 25
#: Four who are never in the middle of five.
FAR = (100, 200, 900_000, 950_000)
#: So many miles that a cost a mile, rounded, is nothing or next to it, and tells nothing.
SILENT = 30_000_000


class Spent(NamedTuple):
    """What everybody spent in a month or a year, in pence and the victim last; all teach and drive as much."""

    pence: tuple[int, ...]
    hours: int
    miles: int

    @classmethod
    def an_hour(cls, pence: Iterable[Fraction | int], hours: int = 100, miles: int = SILENT) -> "Spent":
        return cls(tuple(int(each * hours) for each in pence), hours, miles)

    @classmethod
    def together(cls, months: Sequence["Spent"]) -> "Spent":
        each, hours, miles = zip(*months, strict=True)
        return cls(tuple(map(sum, zip(*each, strict=True))), sum(hours), sum(miles))

    @property
    def contributions(self) -> dict[int, Contribution]:
        return {key: brought(pence, self.hours, self.miles) for key, pence in enumerate(self.pence)}

    @property
    def values(self) -> dict[int, ContributorValues]:
        return {key: one.values for key, one in self.contributions.items() if one.values}

    @property
    def allowed(self) -> float:
        """What may be told of it, in pence a lesson hour: a quarter of an hour's rounding or of a mile's, the finer."""
        return min(QUARTER, QUARTER / 10 * self.miles / self.hours)


class Stored(NamedTuple):
    """A closing of the months from the ``first`` up to the one before the ``end``."""

    first: int
    end: int
    spent: Spent
    closing: Closing


def closed(months: Sequence[Spent], *, held_against: int = 11, finer: Collection[int] = ()) -> list[Stored]:
    """The closings of the months, and of the years that end with each from the twelfth on.

    Each year is held against its own months and so many years before. The months that are ``finer`` are closed with
    half of the rounding, and the years that end with them.
    """

    def as_kept(period: Period, spent: Spent, closing: Closing) -> ClosedPeriod:
        of = ClosedPeriod(period, spent.contributions, closing)
        return of._replace(told=told_of_each(of))

    singles: list[ClosedPeriod] = []
    years: dict[int, ClosedPeriod] = {}
    stored: list[Stored] = []
    for number, spent in enumerate(months):
        rounding = Rounding(STEP // 2 if number in finer else STEP)
        closing = close_month(list(spent.values.values()), out=0, minimum=5, rounding=rounding)
        singles.append(as_kept(month(number), spent, closing))
        stored.append(Stored(number, number + 1, spent, closing))
        if number >= 11:
            whole = Spent.together(months[number - 11 : number + 1])
            period = up_to(number)
            closing = close_year(
                period,
                whole.values,
                singles[max(0, number - 11 - held_against) :],
                [years[end] for end in range(number - held_against, number) if end in years],
                out=0,
                minimum=5,
                rounding=rounding,
            )
            years[number] = as_kept(period, whole, closing)
            stored.append(Stored(number - 11, number + 1, whole, closing))
    return stored


#: The attackers try thousandths of a penny, up to a billion pounds.
FINE, MOST = 1_000, 10**14


def alike(of: Stored, per: int, step: int, quarters: dict[int, int]) -> tuple[float, float]:
    """From which pence of the victim up to which the closing would have been the same to those who know the others.

    ``quarters`` are the figures by how many quarters of the way through the sorted costs, ``per`` hours or miles, they
    are taken.
    """
    *others, own = (pence * FINE for pence in of.spent.pence)

    def seen(victim: int) -> list[int]:
        ordered = sorted([*others, victim])
        steps = []
        for quarter in quarters:
            place, rest = divmod((len(ordered) - 1) * quarter, 4)
            four = ordered[place] * (4 - rest) + ordered[place + 1] * rest
            # Half a step more than the cost, in whole steps: all of it times eight.
            steps.append((2 * four + 4 * step * per * FINE) // (8 * step * per * FINE))
        return steps

    assert seen(own) == [figure // step for figure in quarters.values()]
    high = bisect_right(range(MOST), seen(own), key=seen)
    return bisect_left(range(MOST), seen(own), key=seen) / FINE, float("inf") if high == MOST else high / FINE


def by_hour(of: Stored) -> tuple[float, float]:
    figures = {
        1: of.closing.lower_quartile_cost_per_lesson_hour,
        2: of.closing.median_cost_per_lesson_hour,
        3: of.closing.upper_quartile_cost_per_lesson_hour,
    }
    told = {quarter: figure for quarter, figure in figures.items() if figure is not None}
    return alike(of, of.spent.hours, Rounding(of.closing.rounded_to).lesson_hour, told)


def by_mile(of: Stored) -> tuple[float, float]:
    median = of.closing.median_cost_per_mile
    assert median is not None
    return alike(of, of.spent.miles, Rounding(of.closing.rounded_to).mile, {2: median})


def held(stored: Sequence[Stored], spans: Sequence[Stored]) -> list[float]:
    """How closely the attackers hold the victim in each of the ``spans`` by what was stored, in pence a lesson hour."""
    count = max(each.end for each in spans)

    def row(of: Stored) -> list[int]:
        return [int(of.first <= number < of.end) for number in range(count)]

    rows, ends = [], []
    for of in stored:
        for low, high in (by_hour(of), by_mile(of)):
            rows.append([-cell for cell in row(of)])
            ends.append(-low)
            if high < float("inf"):
                rows.append(row(of))
                ends.append(high)
    widths = []
    for of in spans:
        sides = [
            linprog([way * cell for cell in row(of)], A_ub=rows, b_ub=ends, bounds=(0, None), method="highs")
            for way in (1, -1)
        ]
        # Status 3: nothing bounds it.
        assert {side.status for side in sides} <= {0, 3}
        widths.append(float("inf") if sides[1].status == 3 else -(sides[0].fun + sides[1].fun) / of.spent.hours)
    return widths


def closest(months: Sequence[Spent], *, held_against: int = 11, finer: Collection[int] = ()) -> float:
    """How closely the attackers hold the month or year that they hold best, in pence a lesson hour."""
    stored = closed(months, held_against=held_against, finer=finer)
    return min(
        held([of for of in stored if of.closing.has_figures], [of for of in stored if of.end - 1 not in set(finer)])
    )


def steady(pence: Sequence[Fraction | int | str], hours: int = 100) -> list[Spent]:
    """The same costs an hour in every month, the victim's last."""
    return [Spent.an_hour(map(Fraction, pence), hours)] * MONTHS


def random_book(seed: int, count: int, miles: Sequence[int] = (SILENT,)) -> list[Spent]:
    """Two years of so many members; the others have been put about the victim, who is between £6 and £8."""
    drawn = Random(seed)  # noqa: S311 - the same book every time
    return [
        Spent.an_hour(
            [Fraction(drawn.randint(50_000, 90_000), 100) for _ in range(count - 1)] + [drawn.randint(600, 800)],
            drawn.randint(60, 140),
            drawn.choice(miles),
        )
        for _ in range(MONTHS)
    ]


def far_book(pence: Sequence[int], hours: Sequence[int], miles: Sequence[int]) -> list[Spent]:
    """Five of whom the victim is always the one in the middle."""
    return [Spent.an_hour([*FAR, own], taught, driven) for own, taught, driven in zip(pence, hours, miles, strict=True)]


#: Books that are tuned to the victim's cost, the last, so that a quartile says that it is not below 700 and the median
#: that it is below 700.02, or the median the one and the other quartile the other.
TUNED = {
    "eight, from below": ["100", "260", "700", "799.98", "900", "1000", "1100", "700.01"],
    "eight, from above": ["100", "260", "300", "600", "700", "1299.94", "1400", "700.01"],
    "ten": ["100", "200", "500", "700", "799.98", "900", "1000", "1100", "1200", "700.01"],
    "twelve": ["100", "200", "260", "700", "700", "799.98", "900", "1000", "1100", "1200", "1300", "700.01"],
}


@pytest.mark.parametrize("name", TUNED)
def test_a_tuned_book_tells_nothing_finer_than_a_quarter(name: str) -> None:
    assert closest(steady(TUNED[name])) >= QUARTER - 1e-6


@settings(max_examples=6, deadline=None)
@given(st.integers(0, 10**6), st.sampled_from([5, 6, 8, 11]))
def test_two_years_of_closings_tell_nothing_finer_than_a_quarter(seed: int, count: int) -> None:
    assert closest(random_book(seed, count)) >= QUARTER - 1e-6


def of_two_years(lowest: int, highest: int) -> st.SearchStrategy[list[int]]:
    return st.lists(st.integers(lowest, highest), min_size=MONTHS, max_size=MONTHS)


@settings(max_examples=4, deadline=None)
@given(of_two_years(600, 800), of_two_years(60, 140))
def test_nor_do_they_of_the_one_in_the_middle_of_five(pence: list[int], hours: list[int]) -> None:
    assert closest(far_book(pence, hours, [SILENT] * MONTHS)) >= QUARTER - 1e-6


@settings(max_examples=4, deadline=None)
@given(st.integers(0, 10**6), st.sampled_from([5, 6, 8]), st.lists(st.integers(600, 4_000), min_size=3, max_size=3))
@example(0, 8, [1_000] * 3)
def test_by_the_hour_and_by_the_mile_years_add_nothing_finer_to_what_their_months_tell(
    seed: int, count: int, miles: list[int]
) -> None:
    """One month's two medians bound the same pence, and together may by themselves tell more than a quarter."""
    stored = [of for of in closed(random_book(seed, count, miles)) if of.closing.has_figures]
    months = [of for of in stored if of.end == of.first + 1]
    years = [of for of in stored if of.end > of.first + 1]
    for of, alone, beside in zip(years, held(months, years), held(stored, years), strict=True):
        assert beside >= min(alone, of.spent.allowed) - 1e-6


def test_held_against_its_own_months_alone_a_year_would_tell_more() -> None:
    """So that the tests above can fail: what is guarded against is there."""
    drawn = Random(31)  # noqa: S311 - the same months every time
    pence, hours = [drawn.randint(600, 800) for _ in range(MONTHS)], [drawn.randint(60, 140) for _ in range(MONTHS)]
    months = far_book(pence, hours, [30_000] * MONTHS)
    assert closest(months, held_against=0) < 2
    assert closest(months) >= QUARTER - 1e-6


@pytest.mark.parametrize("seed", range(6))
def test_one_month_of_a_finer_rounding_does_not_lower_what_the_years_about_it_are_held_to(seed: int) -> None:
    drawn = Random(seed)  # noqa: S311 - the same months every time
    pence, hours = [drawn.randint(600, 800) for _ in range(MONTHS)], [drawn.randint(60, 140) for _ in range(MONTHS)]
    assert closest(far_book(pence, hours, [30_000] * MONTHS), finer=[12]) >= QUARTER - 1e-6


@pytest.mark.parametrize("pence", [700, 709])
def test_a_steady_member_costs_the_group_no_year(pence: int) -> None:
    years = [of for of in closed([Spent.an_hour([*FAR, pence], 100, 1_000)] * MONTHS) if of.end > of.first + 1]
    assert len(years) == 14
    assert all(of.closing.median_cost_per_lesson_hour == 700 for of in years)
