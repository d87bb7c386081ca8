from datetime import date, timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costing.core.shares import ByDays, growth_at, share

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
