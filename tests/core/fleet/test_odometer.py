from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.core.odometer import Odometer, Pace, Reading, pace_of

FIRST, MIDDLE, LAST = date(2026, 1, 1), date(2026, 1, 11), date(2026, 1, 31)


@pytest.fixture
def odometer() -> Odometer:
    return Odometer([Reading(LAST, 2_000), Reading(FIRST, 1_000), Reading(MIDDLE, 1_105)])


def test_it_is_linear_by_day_and_floored(odometer: Odometer) -> None:
    assert odometer.at(date(2026, 1, 2)) == 1_010  # 105 miles in 10 days: 10.5 on the first
    assert odometer.at(MIDDLE) == 1_105


def test_outside_the_readings_it_stands_still(odometer: Odometer) -> None:
    assert odometer.at(date(2025, 12, 1)) == 1_000
    assert odometer.at(date(2026, 6, 1)) == 2_000
    assert (odometer.first_on, odometer.last_on) == (FIRST, LAST)


def test_the_highest_of_a_day_counts() -> None:
    assert Odometer([Reading(FIRST, 900), Reading(FIRST, 950), Reading(FIRST, 910)]).at(FIRST) == 950


def test_without_readings_it_is_false() -> None:
    assert not Odometer([])
    with pytest.raises(IndexError):
        Odometer([]).at(FIRST)


def test_until_forgets_what_came_later(odometer: Odometer) -> None:
    known = odometer.until(date(2026, 1, 30))
    assert known.last_on == MIDDLE
    assert known.at(LAST) == 1_105
    assert not odometer.until(date(2025, 12, 31))


def test_last_day_up_to_a_mileage(odometer: Odometer) -> None:
    assert odometer.last_day_up_to(1_105) == MIDDLE
    assert odometer.last_day_up_to(1_009) == FIRST  # 1,010 at the end of 2 January
    assert odometer.last_day_up_to(999) == date(2025, 12, 31)
    # 10 miles in 3 days: 3, 6 and 10 at the end of each.
    slow = Odometer([Reading(FIRST, 0), Reading(date(2026, 1, 4), 10)])
    assert [slow.last_day_up_to(miles).day for miles in (2, 3, 5, 6, 9)] == [1, 2, 2, 3, 3]


@st.composite
def readings(draw: st.DrawFn) -> list[Reading]:
    days = sorted(draw(st.sets(st.integers(0, 400), min_size=1, max_size=12)))
    gains = draw(st.lists(st.integers(0, 3_000), min_size=len(days), max_size=len(days)))
    total, made = 0, []
    for day, gain in zip(days, gains, strict=True):
        total += gain
        made.append(Reading(FIRST + timedelta(days=day), total))
    return made


@given(readings(), st.integers(0, 40_000))
def test_the_day_after_the_last_day_up_to_a_mileage_is_above_it(made: list[Reading], miles: int) -> None:
    odometer = Odometer(made)
    if odometer.at(odometer.last_on) <= miles:
        return
    day = odometer.last_day_up_to(miles)
    assert odometer.at(day + timedelta(days=1)) > miles
    assert day < odometer.first_on or odometer.at(day) <= miles


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
