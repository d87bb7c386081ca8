"""What two years of closings tell of one member to four in league with them, who know all else.

The attackers' arithmetic is their own: every figure bounds the victim's pence in its months, and SciPy's HiGHS finds
the least and the most that any year can have been under all of them.
"""

from collections.abc import Collection, Sequence
from datetime import date
from fractions import Fraction
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from costing.core.group import ClosedPeriod, Closing, Contribution, ContributorValues, Rounding, close_month, close_year
from costing.core.periods import month_of, months_ending
from fleet.core.days import add_months

JANUARY = date(2024, 1, 1)
STEP, MILE_STEP, QUARTER = 20, 2, 5
LEAGUE = (100, 200, 900_000, 950_000)
VICTIM = len(LEAGUE)
#: A month's pence, lesson hours and miles of the victim.
Month = tuple[int, int, int]


def contributions(pence: int, hours: int, miles: int) -> dict[int, Contribution]:
    """Of the league, who teach and drive as the victim does, two far below and two far above; the victim is between."""
    each = [*(cost * hours for cost in LEAGUE), pence]
    return {
        key: Contribution(
            cost, ContributorValues(Fraction(cost, hours), Fraction(cost, miles), Fraction(60 * hours), miles)
        )
        for key, cost in enumerate(each)
    }


def closed(
    months: Sequence[Month], *, held_against: int, finer: Collection[int] = ()
) -> tuple[list[Closing], dict[int, Closing]]:
    """The closings of the months, and of the years that end with each from the twelfth on, by that month's number.

    Each year is held against its own months and so many years before. The months that are ``finer`` are closed with
    half of the rounding, and the years that end with them.
    """
    singles: list[ClosedPeriod] = []
    years: dict[int, ClosedPeriod] = {}
    for number, month in enumerate(months):
        rounding = Rounding(STEP // 2 if number in finer else STEP)
        of_month = contributions(*month)
        values = [one.values for one in of_month.values() if one.values]
        stored = close_month(values, out=0, minimum=5, rounding=rounding)
        singles.append(ClosedPeriod(month_of(add_months(JANUARY, number)), of_month, stored))
        if number >= 11:
            whole = contributions(*(sum(column) for column in zip(*months[number - 11 : number + 1], strict=True)))
            period = months_ending(add_months(JANUARY, number), 12)
            stored = close_year(
                period,
                {key: one.values for key, one in whole.items() if one.values},
                singles[max(0, number - 11 - held_against) :],
                [years[end] for end in range(number - held_against, number) if end in years],
                out=0,
                minimum=5,
                rounding=rounding,
            )
            years[number] = ClosedPeriod(period, whole, stored)
    stored_singles = [each.closing for each in singles if each.closing]
    return stored_singles, {end: each.closing for end, each in years.items() if each.closing}


def closest(months: Sequence[Month], *, held_against: int, finer: Collection[int] = ()) -> float:
    """How closely the attackers hold the year of the victim that they hold best, in pence a lesson hour."""
    singles, years = closed(months, held_against=held_against, finer=finer)
    spans = [(number, number + 1, figure) for number, figure in enumerate(singles)]
    spans += [(end - 11, end + 1, figure) for end, figure in years.items() if figure.has_figures]
    hours, miles = [taught for _, taught, _ in months], [driven for _, _, driven in months]
    rows, ends = [], []
    for first, end, figure in spans:
        row = [int(first <= number < end) for number in range(len(months))]
        rounding = Rounding(figure.rounded_to)
        for told, step, weights in (
            (figure.median_cost_per_lesson_hour, rounding.lesson_hour, hours),
            (figure.median_cost_per_mile, rounding.mile, miles),
        ):
            assert told is not None
            rows += [row, [-cell for cell in row]]
            ends += [(told + step / 2) * sum(weights[first:end]), -(told - step / 2) * sum(weights[first:end])]
    widths = []
    for end in years.keys() - set(finer):
        row = [int(end - 11 <= number <= end) for number in range(len(months))]
        sides = [
            linprog([way * cell for cell in row], A_ub=rows, b_ub=ends, bounds=(0, None), method="highs").fun
            for way in (1, -1)
        ]
        widths.append(-(sides[0] + sides[1]) / sum(hours[end - 11 : end + 1]))
    return float(min(widths))


def months_of(pence: Sequence[int], hours: Sequence[int], miles: Sequence[int]) -> list[Month]:
    """Months of that many pence a lesson hour, hours, and miles."""
    return [(each * taught, taught, driven) for each, taught, driven in zip(pence, hours, miles, strict=True)]


def allowed(months: Sequence[Month]) -> float:
    """What a year may be told to: a quarter of the rounding, an hour's or a mile's, whichever is fewer pence."""
    _, hours, miles = (sum(column) for column in zip(*months, strict=True))
    return min(QUARTER, MILE_STEP / 4 * miles / hours * 0.8)


def of_two_years(lowest: int, highest: int) -> st.SearchStrategy[list[int]]:
    return st.lists(st.integers(lowest, highest), min_size=25, max_size=25)


@settings(max_examples=12, deadline=None)
@given(of_two_years(600, 800), of_two_years(60, 140), of_two_years(850, 1_250) | of_two_years(3_000, 4_000))
def test_two_years_of_closings_tell_nothing_finer_than_a_quarter(
    pence: list[int], hours: list[int], miles: list[int]
) -> None:
    months = months_of(pence, hours, miles)
    assert closest(months, held_against=11) >= allowed(months) - 1e-6


def test_held_against_its_own_months_alone_a_year_would_tell_more() -> None:
    """So that the test above can fail: what is guarded against is there."""
    drawn = Random(31)  # noqa: S311 - the same months every time
    pence, hours = [drawn.randint(600, 800) for _ in range(25)], [drawn.randint(60, 140) for _ in range(25)]
    months = months_of(pence, hours, [30_000] * 25)
    assert closest(months, held_against=0) < 2
    assert closest(months, held_against=11) >= QUARTER - 1e-6


@pytest.mark.parametrize("seed", range(6))
def test_one_month_of_a_finer_rounding_does_not_lower_what_the_years_about_it_are_held_to(seed: int) -> None:
    drawn = Random(seed)  # noqa: S311 - the same months every time
    pence, hours = [drawn.randint(600, 800) for _ in range(25)], [drawn.randint(60, 140) for _ in range(25)]
    assert closest(months_of(pence, hours, [30_000] * 25), held_against=11, finer=[12]) >= QUARTER - 1e-6


@pytest.mark.parametrize("pence", [700, 709])
def test_a_steady_member_costs_the_group_no_year(pence: int) -> None:
    _, years = closed(months_of([pence] * 25, [100] * 25, [1_000] * 25), held_against=11)
    assert len(years) == 14
    assert all(year.median_cost_per_lesson_hour == 700 for year in years.values())
