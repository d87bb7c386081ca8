import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.core.due import reached_step


@pytest.mark.parametrize(
    ("days_left", "step"),
    [
        (400, None),
        (31, None),
        (30, 30),
        (29, 30),
        (15, 30),
        (14, 14),
        (8, 14),
        (7, 7),
        (2, 7),
        (1, 1),
        (0, 0),
    ],
)
def test_the_latest_step_reached_before_the_day(days_left: int, step: int | None) -> None:
    assert reached_step(days_left, daily_when_overdue=True) == step
    assert reached_step(days_left, daily_when_overdue=False) == step


@pytest.mark.parametrize(("days_left", "step"), [(91, None), (90, 90), (31, 90), (30, 30), (0, 0), (-7, -7)])
def test_longer_notice_is_one_step_more_before_the_others(days_left: int, step: int | None) -> None:
    assert reached_step(days_left, daily_when_overdue=False, notice_days=90) == step


@pytest.mark.parametrize(("days_left", "step"), [(-1, 0), (-6, 0), (-7, -7), (-13, -7), (-14, -14), (-71, -70)])
def test_overdue_is_told_weekly_if_it_does_not_stop_the_car(days_left: int, step: int | None) -> None:
    assert reached_step(days_left, daily_when_overdue=False) == step


@given(st.integers(-5_000, -1))
def test_overdue_is_told_daily_if_it_stops_the_car(days_left: int) -> None:
    assert reached_step(days_left, daily_when_overdue=True) == days_left


@given(st.integers(-2_000, 2_000), st.booleans())
def test_steps_are_reached_in_order_and_none_is_reached_early(days_left: int, daily: bool) -> None:
    """As the days go by the step never goes back up, and its own day has come."""
    step, next_day = reached_step(days_left, daily), reached_step(days_left - 1, daily)
    assert step is None or step >= days_left
    assert step is None or (next_day is not None and next_day <= step)
    assert step is None or reached_step(step, daily) == step
