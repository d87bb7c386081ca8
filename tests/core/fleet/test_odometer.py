from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.core.odometer import Odometer, Reading

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
