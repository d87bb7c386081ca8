from datetime import date, timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.core.quiet import QUIET_FOR, is_long_quiet, quiet_on

MONDAY = date(2026, 3, 9)


@pytest.mark.parametrize(("days", "said"), [(0, None), (6, None), (7, (MONDAY, 7)), (30, (MONDAY, 30)), (-3, None)])
def test_it_is_said_after_seven_days_without_an_entry(days: int, said: tuple[date, int] | None) -> None:
    assert quiet_on(MONDAY + timedelta(days=days), [MONDAY], None) == said


def test_the_last_of_several_days_counts() -> None:
    days = [MONDAY - timedelta(days=40), MONDAY, MONDAY - timedelta(days=1)]
    assert quiet_on(MONDAY + QUIET_FOR, days, None) == (MONDAY, 7)


@pytest.mark.parametrize(("ago", "is_said"), [(1, False), (6, False), (7, True), (8, True)])
def test_it_is_said_once_a_week_at_most(ago: int, is_said: bool) -> None:
    on = MONDAY + timedelta(days=20)
    assert (quiet_on(on, [MONDAY], on - timedelta(days=ago)) is not None) is is_said


@given(st.lists(st.integers(0, 120), min_size=1), st.integers(1, 120))
def test_whoever_looks_every_day_says_it_with_a_week_between(logged: list[int], until: int) -> None:
    told: list[date] = []
    for number in range(until):
        on = MONDAY + timedelta(days=number)
        heard = [MONDAY, *(MONDAY + timedelta(days=day) for day in logged if day <= number)]
        if quiet_on(on, heard, told[-1] if told else None):
            told.append(on)
            assert on - max(heard) >= QUIET_FOR
    assert all(later - earlier >= QUIET_FOR for earlier, later in pairwise(told))


@pytest.mark.parametrize(("days", "is_long"), [(13, False), (14, True), (400, True)])
def test_two_weeks_without_an_entry_are_long(days: int, is_long: bool) -> None:
    on = MONDAY + timedelta(days=days)
    assert is_long_quiet(on, [MONDAY - timedelta(days=40), MONDAY]) == is_long
