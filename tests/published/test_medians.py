"""The group's median and quartiles.

Sources: Hyndman and Fan, "Sample quantiles in statistical packages", The American Statistician 50
(1996), type 7, as the documentation of R's `quantile` describes it (V); examples P14-E1 and P14-E2
(C); Python's own statistics module, whose "inclusive" method is the same type, as a second opinion.
"""

import math
import statistics
from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from costing.core.group import Closing, ContributorValues, Rounding, close_month, quantile, shown

QUARTER, HALF, THREE_QUARTERS = Fraction(1, 4), Fraction(1, 2), Fraction(3, 4)
exact = st.fractions(min_value=-(10**6), max_value=10**6, max_denominator=10**4)


def group_of(pence: list[Fraction]) -> list[ContributorValues]:
    return [ContributorValues(value, value, Fraction(6_000), 1_500) for value in pence]


def close(pence: list[Fraction]) -> Closing:
    return close_month(group_of(pence), out=0, minimum=5, rounding=Rounding(20))


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
    closing = close([Fraction(600)] * count)

    assert shown(closing, 5).suppressed
    assert not closing.has_figures


# Against statistics.median: exact on fractions, rounded once at the end.
@given(st.lists(exact, min_size=5, max_size=40))
def test_group_median_is_the_median(pence: list[Fraction]) -> None:
    closing = close(pence)

    median = statistics.median(pence)
    assert closing.median_cost_per_lesson_hour == math.floor(median / 20 + HALF) * 20
    assert closing.median_cost_per_mile == math.floor(median / 2 + HALF) * 2


# Against statistics.quantiles by its inclusive method. Where quartiles would tell too much there are none.
@given(st.lists(exact, min_size=8, max_size=40))
def test_group_quartiles_are_the_inclusive_quartiles(pence: list[Fraction]) -> None:
    closing = close(pence)
    assume(closing.lower_quartile_cost_per_lesson_hour is not None)

    lower, _, upper = statistics.quantiles(pence, n=4, method="inclusive")
    assert closing.lower_quartile_cost_per_lesson_hour == math.floor(lower / 20 + HALF) * 20
    assert closing.upper_quartile_cost_per_lesson_hour == math.floor(upper / 20 + HALF) * 20
