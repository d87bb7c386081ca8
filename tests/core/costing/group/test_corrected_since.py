"""What an even number of members of whom all but one are in league learn of that one by correcting closed months.

Of six the median is the mean of the two in the middle. The league chooses the other of them before a closing, and so
where the edges of its step fall on the victim; afterwards it corrects what it chose, and what the figure told cannot be
worked out from the records any more. The attackers' arithmetic is their own, as in `test_over_years`.
"""

from collections.abc import Sequence
from fractions import Fraction
from math import inf
from random import Random
from typing import NamedTuple

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from costing.core.group import (
    ClosedPeriod,
    Contribution,
    Rounding,
    Told,
    close_month,
    close_year,
    told_of_each,
)
from costing.core.group.disclosure import ValueBounds
from costing.core.periods import months_ending
from tests.core.costing.group.values import brought, month, up_to

STEP, QUARTER = Rounding(20), 5
HOURS, MILES = 100, 1_000
FAR = (100, 200, 90_000, 95_000)
CHOSEN, VICTIM = len(FAR), len(FAR) + 1


def contributions(chosen: int, own: int, months: int = 1) -> dict[int, Contribution]:
    """Of six members, by their pence: four out of the way, the one that the league chooses, and the victim."""
    hours, miles = HOURS * months, MILES * months
    return {
        key: brought(pence, hours, miles) for key, pence in enumerate([*(each * hours for each in FAR), chosen, own])
    }


def as_told(by_member: dict[int, Contribution], median: int) -> tuple[float, float]:
    """Between which pence an hour the victim must be, by a rounded median and the value of the other in the middle."""
    chosen = by_member[CHOSEN].values
    assert chosen is not None
    beside = float(chosen.cost_per_lesson_hour)
    return 2 * (median - 10) - beside, 2 * (median + 10) - beside


class Play(NamedTuple):
    """Where the league has the edges of a step fall: so many pence an hour below and above a steady 700."""

    below_in_month: int
    above_in_year: int

    @property
    def beside_in_month(self) -> int:
        """The value with which the median would leave its step below if the victim had that much less."""
        return 2 * (700 - 10) + self.below_in_month - 700

    @property
    def beside_in_year(self) -> int:
        """The value with which the median would leave its step above if the victim had that much more."""
        return 2 * (700 + 10) - self.above_in_year - 700


def closest(own: Sequence[int], plays: Sequence[Play], *, is_kept: bool) -> float:
    """How closely the league holds the year that it holds best, in pence a lesson hour.

    ``own`` are the victim's pence an hour of each month. After each closing the league corrects what it had, to what
    would have told least. ``is_kept``: what was told at each closing is held against those that follow.
    """
    singles: list[ClosedPeriod] = []
    years: list[ClosedPeriod] = []
    rows: list[list[int]] = []
    ends: list[float] = []

    def learn(first: int, number: int, by_member: dict[int, Contribution], median: int) -> None:
        row = [int(first <= each <= number) for each in range(len(own))]
        low, high = as_told(by_member, median)
        rows.extend([row, [-cell for cell in row]])
        ends.extend([high * sum(row), -low * sum(row)])

    def corrected(of: ClosedPeriod, pence: int, months: int) -> ClosedPeriod:
        since = contributions(2 * 700 * HOURS * months - pence, pence, months)
        return of._replace(by_member=since, told=told_of_each(of) if is_kept else {})

    for number, (an_hour, play) in enumerate(zip(own, plays, strict=True)):
        then = contributions(HOURS * play.beside_in_month, HOURS * an_hour)
        stored = close_month([one.values for one in then.values() if one.values], out=0, minimum=5, rounding=STEP)
        assert stored.median_cost_per_lesson_hour is not None
        learn(number, number, then, stored.median_cost_per_lesson_hour)
        single = ClosedPeriod(month(number), then, stored)
        if number >= 11:
            of_year = sum(own[number - 11 : number + 1]) * HOURS
            whole = contributions(12 * HOURS * play.beside_in_year, of_year, 12)
            period = up_to(number)
            closing = close_year(
                period,
                {key: one.values for key, one in whole.items() if one.values},
                [*singles[max(0, number - 22) :], single._replace(told=told_of_each(single) if is_kept else {})],
                years[max(0, len(years) - 11) :],
                out=0,
                minimum=5,
                rounding=STEP,
            )
            if closing.median_cost_per_lesson_hour is not None:
                learn(number - 11, number, whole, closing.median_cost_per_lesson_hour)
            years.append(corrected(ClosedPeriod(period, whole, closing), of_year, 12))
        singles.append(corrected(single, HOURS * an_hour, 1))

    widths = []
    for end in range(11, len(own)):
        row = [int(end - 11 <= each <= end) for each in range(len(own))]
        sides = [
            linprog([way * cell for cell in row], A_ub=rows, b_ub=ends, bounds=(0, None), method="highs")
            for way in (1, -1)
        ]
        assert all(side.success for side in sides)
        widths.append(-(sides[0].fun + sides[1].fun) / 12)
    return float(min(widths))


MONTHS = 24
EDGES = st.integers(1, 39)


def test_without_what_was_told_the_corrections_would_hold_the_victim() -> None:
    """So that the tests below can fail: what is guarded against is there."""
    assert closest([700] * MONTHS, [Play(1, 1)] * MONTHS, is_kept=False) == pytest.approx(2)
    assert closest([700] * MONTHS, [Play(1, 1)] * MONTHS, is_kept=True) >= QUARTER


@pytest.mark.parametrize("play", [Play(1, 3), Play(3, 1), Play(2, 2), Play(4, 2), Play(38, 38)])
@pytest.mark.parametrize("noise", [0, 2])
def test_what_was_corrected_since_holds_no_steady_year_more_finely(play: Play, noise: int) -> None:
    drawn = Random(noise)  # noqa: S311 - the same months every time
    own = [700 + drawn.randint(-noise, noise) for _ in range(MONTHS)]
    assert closest(own, [play] * MONTHS, is_kept=True) >= QUARTER - 1e-6


@settings(max_examples=15, deadline=None)
@given(
    st.lists(st.integers(680, 720), min_size=MONTHS, max_size=MONTHS),
    st.lists(st.builds(Play, EDGES, EDGES), min_size=MONTHS, max_size=MONTHS),
)
def test_nor_any_year_whatever_the_league_chooses_each_month(own: list[int], plays: list[Play]) -> None:
    assert closest(own, plays, is_kept=True) >= QUARTER - 1e-6


def test_what_was_kept_costs_the_group_no_year_that_tells_no_more() -> None:
    assert closest([700] * MONTHS, [Play(20, 20)] * MONTHS, is_kept=True) == pytest.approx(40)


@pytest.mark.parametrize(("pence", "allowed"), [(6_899, False), (6_900, True), (7_100, True), (7_101, False)])
def test_a_cost_outside_what_was_told_is_one_corrected_since(pence: int, allowed: bool) -> None:
    hour = ValueBounds(Fraction(690), Fraction(7_101, 10), Fraction(10))
    mile = ValueBounds(Fraction("68.9951"), inf, Fraction(100))
    told = Told.by([hour, mile])
    assert told == Told(6_900, 7_101)
    assert Told.by([hour, mile, ValueBounds(-inf, Fraction("7100.9"), Fraction(1))]) == Told(6_900, 7_100)
    assert Told(6_900, 7_100).allows(pence) is allowed
    assert Told(None, None).allows(pence)
    assert Told.by([]) == Told(None, None)


@pytest.mark.parametrize(("was_in", "other_bills", "is_kept"), [(True, 0, False), (False, 0, True), (True, 500, True)])
def test_a_month_whose_figures_are_of_other_sums_tells_nothing_of_the_year(
    was_in: bool, other_bills: int, is_kept: bool
) -> None:
    """Who logged too late for the months' figures, or has bills that are in none, is told of by the year alone."""
    own = [709] * 11 + [711]
    months = []
    for number, pence in enumerate(own):
        then = contributions(HOURS * 710, HOURS * pence)
        then = {key: one for key, one in then.items() if was_in or key != VICTIM}
        stored = close_month([one.values for one in then.values() if one.values], out=0, minimum=5, rounding=STEP)
        of = ClosedPeriod(month(number), then, stored)
        since = contributions(HOURS * 1_343 // 2, HOURS * pence)
        since[VICTIM] = since[VICTIM]._replace(true_cost=HOURS * pence + other_bills)
        months.append(of._replace(by_member=since, told=told_of_each(of)))
    # The months leave up to (11 x 710 + 750) / 12 = 713.3p, the year 2 x 690 - 671.5 = 708.5p or more.
    whole = contributions(12 * HOURS * 1_343 // 2, HOURS * sum(own), 12)
    values = {key: one.values for key, one in whole.items() if one.values}
    year = close_year(months_ending(months[-1].period.first, 12), values, months, [], out=0, minimum=5, rounding=STEP)
    assert year.has_figures is is_kept
