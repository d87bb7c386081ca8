"""What a car is worth on the day one leaves."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costing.choosing.core.value import value_on_curve
from tests.core.costing.choosing.cases import ALL, OWNED, case, worked_out


# Half-way it is the geometric mean, the root of 10,900 x 6,900; twice as far it is 6,900 x 6,900 / 10,900.
@pytest.mark.parametrize(("month", "value"), [(0, 10_900_00), (15, 8_672_37), (30, 6_900_00), (60, 4_367_89)])
def test_a_car_loses_the_same_share_every_month(month: int, value: int) -> None:
    assert value_on_curve(10_900_00, 6_900_00, month, 30) == value


# Half-way to a tenth of 10,000 it is the root of a tenth, 3,162.277...; 250 less, as 500 less are left in the end.
# At twice the horizon the bend would take it to -900.
@pytest.mark.parametrize(("month", "value"), [(0, 10_000_00), (12, 2_912_28), (24, 500_00), (48, 0)])
def test_below_a_tenth_the_curve_bends_to_meet_what_is_told(month: int, value: int) -> None:
    assert value_on_curve(10_000_00, 500_00, month, 24) == value


def test_a_car_may_be_worth_more_in_the_end() -> None:
    assert value_on_curve(4_000_00, 9_000_00, 12, 24) == 6_000_00


def test_a_car_worth_nothing_stays_so() -> None:
    assert [value_on_curve(0, 0, month, 24) for month in (1, 24, 30)] == [0, 0, 0]


# 2 x (1/2) squared, and 4 x (1/4) to the power of 3/2, are half a penny.
@pytest.mark.parametrize(("now", "month"), [(2, 4), (4, 3)])
def test_half_a_penny_is_rounded_up(now: int, month: int) -> None:
    assert value_on_curve(now, 1, month, 2) == 1


@given(st.integers(1, 10**7), st.integers(0, 10**7), st.integers(1, 72), st.data())
def test_the_curve_meets_both_ends_and_never_turns(
    now: int, at_horizon: int, horizon: int, data: st.DataObject
) -> None:
    assert value_on_curve(now, at_horizon, 0, horizon) == now
    assert value_on_curve(now, at_horizon, horizon, horizon) == at_horizon
    month = data.draw(st.integers(0, horizon - 1))
    one, other = (value_on_curve(now, at_horizon, at, horizon) for at in (month, month + 1))
    assert one >= other if now >= at_horizon else one <= other


# A third of the way is a cube root: of 1,000/8,000 a half, of 1,000/3,375 two thirds.
@pytest.mark.parametrize(("value_now", "after_11"), [(8_000_00, 4_000_00), (None, 2_250_00)])
def test_what_it_would_fetch_now_is_the_price_unless_somebody_tells(value_now: int | None, after_11: int) -> None:
    car = OWNED._replace(price=3_375_00, value_now=value_now, value_at_horizon=1_000_00, includes=ALL)
    [left] = worked_out(case(car), months=11)
    assert left.flow.parts["value_back"] == -after_11
    assert left.total == 3_375_00 - after_11
