from datetime import date, timedelta
from decimal import Decimal
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costing.core.depreciation import ReducingBalance, worth
from costing.core.finance import rolled_on
from costing.core.keeping import InTimes, OnOwnDays
from costing.core.records import Agreement, Period
from costing.core.shares import ByDays, growth_at, in_turn, share, used_in

NEW_YEAR = date(2027, 1, 1)


@pytest.mark.parametrize(
    ("amount", "elapsed", "whole", "used"),
    [
        (48_000, 31, 365, 4_076),  # 4,076.71 by floor
        (48_000, 365, 365, 48_000),
        (-48_000, 31, 365, -4_076),  # the same on the absolute value, not -4,077
        (48_000, 0, 365, 0),
        (48_000, -3, 365, 0),
        (48_000, 400, 365, 48_000),
        (2, 1, 3, 0),
    ],
)
def test_share_of_a_sum(amount: int, elapsed: int, whole: int, used: int) -> None:
    assert share(amount, elapsed, whole) == used


@pytest.mark.parametrize("whole", [0, -1])
def test_nothing_is_shared_over_no_days(whole: int) -> None:
    with pytest.raises(ValueError, match=f"over {whole} days or miles"):
        share(100, 1, whole)


@given(
    st.integers(-(10**9), 10**9),
    st.integers(1, 5_000),
    st.lists(st.integers(-100, 6_000), max_size=12),
)
def test_shares_of_any_split_add_up_to_the_sum(amount: int, whole: int, cuts: list[int]) -> None:
    marks = [0, *sorted(cuts), whole]
    shares = [share(amount, after, whole) - share(amount, before, whole) for before, after in pairwise(marks)]

    assert sum(shares) == amount


@given(st.integers(-(10**6), 10**6), st.integers(1, 400))
def test_equal_days_never_differ_by_more_than_a_penny(amount: int, whole: int) -> None:
    daily = [share(amount, day, whole) - share(amount, day - 1, whole) for day in range(1, whole + 1)]

    assert max(daily) - min(daily) <= 1


def test_a_sum_by_days_is_used_from_its_first_day_to_its_last() -> None:
    insurance = ByDays(NEW_YEAR, date(2027, 12, 31), 48_000)

    used = [insurance.by(day) for day in (date(2026, 12, 31), NEW_YEAR, date(2027, 1, 31), date(2027, 12, 31))]
    assert used == [0, 131, 4_076, 48_000]
    assert insurance.by(date(2029, 1, 1)) == 48_000


def test_a_period_uses_the_difference_of_two_running_totals() -> None:
    insurance = ByDays(NEW_YEAR, date(2027, 12, 31), 48_000)

    # By the end of February 48,000 x 59 / 365 = 7,758.9; less January's 4,076.
    assert growth_at([insurance], [date(2027, 1, 31), date(2027, 2, 28)])[-1] == 3_682
    assert growth_at([insurance], [date(2027, 12, 31), date(2028, 1, 31)])[-1] == 0
    assert growth_at([insurance], [date(2026, 11, 30), date(2026, 12, 31)])[-1] == 0
    assert growth_at([insurance], [date(2026, 12, 31), NEW_YEAR])[-1] == 131


@given(
    st.lists(
        st.tuples(st.integers(0, 60), st.integers(1, 60), st.integers(-9_999, 9_999)),
        max_size=6,
    ),
    st.lists(st.integers(-5, 130), min_size=1, max_size=8, unique=True),
)
def test_growth_at_marks_is_the_sum_of_each_alone(spans: list[tuple[int, int, int]], offsets: list[int]) -> None:
    marks = [NEW_YEAR + timedelta(days=offset) for offset in sorted(offsets)]
    totals = [
        ByDays(NEW_YEAR + timedelta(days=start), NEW_YEAR + timedelta(days=start + length), amount)
        for start, length, amount in spans
    ]

    assert growth_at(totals, marks) == [sum(total.by(mark) - total.by(marks[0]) for total in totals) for mark in marks]


def test_what_is_used_on_the_day_of_a_mark_has_grown_by_then() -> None:
    marks = [date(2026, 12, 31), NEW_YEAR]
    assert growth_at([ByDays(NEW_YEAR, NEW_YEAR, 100)], marks) == [0, 100]
    assert growth_at([ByDays(date(2026, 12, 31), date(2026, 12, 31), 100)], marks) == [0, 0]


def test_growth_without_marks_is_nothing() -> None:
    assert growth_at([ByDays(NEW_YEAR, NEW_YEAR, 100)], []) == []


@given(
    st.lists(st.tuples(st.integers(0, 9), st.integers(1, 40), st.integers(-9_999, 9_999)), min_size=1, max_size=6),
    st.integers(-5, 320),
    st.integers(0, 90),
)
def test_sums_in_turn_are_used_as_each_of_them_alone(
    told: list[tuple[int, int, int]], offset: int, length: int
) -> None:
    totals, following = [], NEW_YEAR
    for gap, days, amount in told:
        first = following + timedelta(days=gap)
        following = first + timedelta(days=days)
        totals.append(ByDays(first, following - timedelta(days=1), amount))
    before = NEW_YEAR + timedelta(days=offset)
    last = before + timedelta(days=length)

    whole = in_turn(totals)
    assert (whole.first, whole.last) == (totals[0].first, totals[-1].last)
    assert whole.amount == sum(total.amount for total in totals)
    assert whole.by(last) == sum(total.by(last) for total in totals)
    assert used_in(whole, before, last) == whole.by(last) - whole.by(before)
    assert [used_in(total, before, last) for total in totals] == [total.by(last) - total.by(before) for total in totals]


def test_what_holding_a_car_costs_tells_its_whole_amount() -> None:
    """Each is used up by its last day, so the whole amount is what is used by then."""
    rolling = rolled_on(Agreement(NEW_YEAR, "contract_hire", payment=30_000, payments=2), date(2027, 4, 15))
    assert rolling is not None
    times = [Period(date(2027, 2, 1), date(2027, 12, 31))]
    losing = ReducingBalance(NEW_YEAR, date(2027, 6, 30), 1_000_000, Decimal("0.15"))
    # 30,000 a month for March and for 15 of April's 30 days.
    assert rolling.amount == 30_000 + 15_000
    assert losing.amount == 1_000_000 - worth(1_000_000, Decimal("0.15"), 181)
    insurance = ByDays(NEW_YEAR, date(2027, 12, 31), 36_500)
    assert InTimes(insurance, times).amount == 36_500
    # All but the 31 days of January, at 100 a day.
    assert OnOwnDays(insurance, times).amount == 36_500 - 3_100
