"""How fast a car runs up miles."""

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from fleet.core.odometer import Odometer, Reading
from fleet.core.pace import Pace, pace_of

TODAY = date(2026, 3, 16)


def days_ago(days: int) -> date:
    return TODAY - timedelta(days=days)


def test_the_last_90_days_count() -> None:
    odometer = Odometer([Reading(days_ago(180), 44_400), Reading(days_ago(90), 46_200), Reading(days_ago(2), 48_000)])
    assert pace_of(odometer, TODAY) == Pace(1_800, 90, days_ago(2))


def test_a_shorter_record_counts_from_its_first_day() -> None:
    assert pace_of(Odometer([Reading(days_ago(30), 100), Reading(TODAY, 700)]), TODAY) == Pace(600, 30, TODAY)
    assert pace_of(Odometer([Reading(TODAY, 700)]), TODAY) == Pace(0, 0, TODAY)


def test_a_day_begun_is_the_day() -> None:
    pace = Pace(1_800, 90, TODAY)  # 20 a day
    assert pace.day_after(TODAY, 390) == TODAY + timedelta(days=20)
    assert pace.day_after(TODAY, 400) == TODAY + timedelta(days=20)
    assert pace.day_after(TODAY, 401) == TODAY + timedelta(days=21)


def test_beyond_the_calendar_there_is_no_day() -> None:
    assert Pace(1, 90, TODAY).day_after(TODAY, 10_000_000) is None
    assert Pace(1, 1, TODAY).day_after(date(9999, 12, 21), 10) == date(9999, 12, 31)
    assert Pace(1, 1, TODAY).day_after(date(9999, 12, 21), 11) is None


@given(st.integers(1, 20_000), st.integers(1, 90), st.integers(0, 60_000))
def test_by_that_day_the_miles_are_run_and_by_the_day_before_they_are_not(run: int, days: int, miles: int) -> None:
    on = Pace(run, days, TODAY).day_after(TODAY, miles)
    assert on is not None
    ahead = (on - TODAY).days
    assert run * ahead >= miles * days
    assert ahead == 0 or run * (ahead - 1) < miles * days
