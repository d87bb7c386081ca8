"""The group's median and quartiles.

Sources: Hyndman and Fan, "Sample quantiles in statistical packages", The American Statistician 50
(1996), type 7, as the documentation of R's `quantile` describes it (V); examples P14-E1 and P14-E2
(C); Python's own statistics module, whose "inclusive" method is the same type, as a second opinion.
"""

import statistics
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costing.core.group import ContributorValues, group_figures, quantile
from costing.core.money import divide_half_up

QUARTER, HALF, THREE_QUARTERS = Fraction(1, 4), Fraction(1, 2), Fraction(3, 4)
exact = st.fractions(min_value=-(10**6), max_value=10**6, max_denominator=10**4)


def group_of(pence: list[Fraction]) -> list[ContributorValues]:
    return [ContributorValues(value, value, value) for value in pence]


# P14-E1, status C: type 7. Type 2 would give 1.5 and 3.5, type 6 1.25 and 3.75.
def test_median_and_quartiles_of_four() -> None:
    values = [Fraction(value) for value in (1, 2, 3, 4)]

    assert [quantile(values, part) for part in (QUARTER, HALF, THREE_QUARTERS)] == [1.75, 2.5, 3.25]


# P14-E2, status C.
def test_median_of_three_is_the_middle_one() -> None:
    assert quantile([Fraction(3), Fraction(1), Fraction(2)], HALF) == 2


# P14-E3 and P14-E4, status C: too few to show, and too few left when one of five opts out.
@pytest.mark.parametrize("count", [4, 1, 0])
def test_too_few_to_show(count: int) -> None:
    figures = group_figures(group_of([Fraction(600)] * count), 5)

    assert figures.suppressed
    assert set(figures[3:]) == {None}


# Against statistics.median: exact on fractions, rounded once at the end.
@given(st.lists(exact, min_size=5, max_size=40))
def test_group_median_is_the_median(pence: list[Fraction]) -> None:
    figures = group_figures(group_of(pence), 5)

    expected = divide_half_up(statistics.median(pence), 1)
    assert figures.median_cost_per_lesson_hour == expected
    assert figures.median_cost_per_lesson == expected
    assert figures.median_cost_per_mile == expected


# Against statistics.quantiles by its inclusive method.
@given(st.lists(exact, min_size=8, max_size=40))
def test_group_quartiles_are_the_inclusive_quartiles(pence: list[Fraction]) -> None:
    figures = group_figures(group_of(pence), 5)

    lower, _, upper = statistics.quantiles(pence, n=4, method="inclusive")
    assert figures.lower_quartile_cost_per_lesson_hour == divide_half_up(lower, 1)
    assert figures.upper_quartile_cost_per_lesson_hour == divide_half_up(upper, 1)
