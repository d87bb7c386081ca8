"""Keep or replace: what another year costs, and what the other car costs a year."""

from fractions import Fraction
from itertools import pairwise

import numpy_financial  # type: ignore[import-untyped]
from hypothesis import given
from hypothesis import strategies as st

from costing.choosing.core.keep_or_replace import (
    KeptCar,
    KeptYear,
    equivalent_yearly_cost,
    year_to_replace,
    years_of_keeping,
)

CAR = KeptCar(400_000, Fraction(1, 4), 60_000, Fraction(1, 5), (300_000,))


def test_each_year_loses_a_quarter_of_the_value_and_repairs_rise_by_a_fifth_of_the_first() -> None:
    assert years_of_keeping(CAR, 3) == [
        KeptYear(1, 100_000, 60_000, 300_000),
        KeptYear(2, 75_000, 72_000, 300_000),
        KeptYear(3, 56_250, 84_000, 300_000),
    ]


@given(
    st.builds(
        KeptCar,
        st.integers(0, 5_000_000),
        st.fractions(0, 1, max_denominator=100),
        st.integers(0, 500_000),
        st.fractions(0, 1, max_denominator=100),
        st.tuples(st.integers(0, 1_000_000)),
    ),
    st.integers(1, 12),
)
def test_the_years_losses_add_up_to_the_loss_of_all_of_them(car: KeptCar, years: int) -> None:
    kept = years_of_keeping(car, years)

    left = car.value * (1 - car.value_loss) ** years
    assert abs(sum(year.value_lost for year in kept) - (car.value - left)) <= Fraction(1, 2)
    assert all(later.repairs >= one.repairs for one, later in pairwise(kept))
    assert all(year.pence == year.value_lost + year.repairs + year.other + year.tied_up for year in kept)


@given(st.integers(1, 5_000_000), st.integers(1, 10), st.fractions("1/1000", "3/10", max_denominator=1000))
def test_equivalent_yearly_cost_is_the_annuity_of_another_library(worth: int, years: int, rate: Fraction) -> None:
    expected = -numpy_financial.pmt(float(rate), years, worth)

    assert abs(equivalent_yearly_cost(worth, 12 * years, rate) - expected) <= 0.5 + 1e-6


def test_equivalent_yearly_cost_without_a_rate_is_the_plain_average() -> None:
    assert equivalent_yearly_cost(1_000_000, 30, Fraction(0)) == 400_000


def test_the_year_to_replace_is_the_first_that_costs_more() -> None:
    dearer = KeptCar(100_000, Fraction(1, 10), 60_000, Fraction(1, 2), (100_000,))

    kept = years_of_keeping(dearer, 4)  # 1,700.00, 1,990.00, 2,281.00, 2,572.90
    assert [year.pence for year in kept] == [170_000, 199_000, 228_100, 257_290]
    assert year_to_replace(kept, 199_000) == 3  # the second costs no more
    assert year_to_replace(kept, 198_999) == 2
    assert year_to_replace(kept, 400_000) is None
