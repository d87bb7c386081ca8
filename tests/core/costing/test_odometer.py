from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costing.core.odometer import CarOdometer
from costing.core.records import Fill, Period, Reading

READINGS = [Reading(date(2027, 3, 10), 1_100), Reading(date(2027, 3, 3), 1_000)]


def fill(day: date, miles: int) -> Fill:
    return Fill(day, miles, 40_000, "litre", 5_400, brimmed=True, gap_before=False)


def test_between_two_readings_miles_run_in_a_straight_line_by_floor() -> None:
    odometer = CarOdometer(READINGS, [])

    # 100 miles over 7 days: 14.28 a day.
    assert [odometer.at(date(2027, 3, day)) for day in range(3, 11)] == [
        1_000,
        1_014,
        1_028,
        1_042,
        1_057,
        1_071,
        1_085,
        1_100,
    ]


def test_outside_the_readings_the_odometer_stands_still() -> None:
    odometer = CarOdometer(READINGS, [])

    assert odometer.at(date(2020, 1, 1)) == 1_000
    assert odometer.at(date(2030, 1, 1)) == 1_100
    assert (odometer.first_on, odometer.last_on) == (date(2027, 3, 3), date(2027, 3, 10))


def test_the_highest_of_a_day_counts_whether_reading_or_fill() -> None:
    day = date(2027, 3, 10)

    assert CarOdometer([*READINGS, Reading(day, 1_090)], [fill(day, 1_130), fill(day, 1_120)]).at(day) == 1_130
    assert CarOdometer(READINGS, [fill(day, 1_050)]).at(day) == 1_100


def test_miles_of_a_period_count_its_first_day_too() -> None:
    odometer = CarOdometer(READINGS, [])

    assert odometer.miles(Period(date(2027, 3, 4), date(2027, 3, 10))) == 100
    assert odometer.miles(Period(date(2027, 3, 5), date(2027, 3, 6))) == 28


def test_the_last_reading_that_shows_at_most_so_many_miles() -> None:
    odometer = CarOdometer(READINGS, [])

    assert odometer.last_read_up_to(1_100) == odometer.last_read_up_to(9_999) == date(2027, 3, 10)
    assert odometer.last_read_up_to(1_099) == odometer.last_read_up_to(1_000) == date(2027, 3, 3)
    assert odometer.last_read_up_to(999) == date.min


def test_without_any_reading_miles_are_absent_not_zero() -> None:
    odometer = CarOdometer([], [])

    assert odometer.miles(Period(date(2027, 3, 4), date(2027, 3, 10))) is None
    assert not odometer
    with pytest.raises(LookupError):
        odometer.at(date(2027, 3, 4))


@given(st.lists(st.tuples(st.integers(0, 300), st.integers(0, 900)), min_size=1, max_size=12))
def test_an_odometer_never_falls_and_meets_every_reading(steps: list[tuple[int, int]]) -> None:
    start, miles, readings = date(2027, 1, 1), 0, []
    for offset, run in sorted(steps):
        miles += run
        readings.append(Reading(start + timedelta(days=offset), miles))
    odometer = CarOdometer(readings, [])

    shown = [odometer.at(start + timedelta(days=offset)) for offset in range(301)]
    assert shown == sorted(shown)
    assert all(odometer.at(r.read_on) == max(o.miles for o in readings if o.read_on == r.read_on) for r in readings)
