from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.core.odometer import NoForecast, Odometer, Pace, Reading, pace_of

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


def read(*days_and_miles: tuple[int, int]) -> Odometer:
    return Odometer([Reading(days_ago(days), miles) for days, miles in days_and_miles])


@pytest.mark.parametrize(
    ("odometer", "pace"),
    [
        # Last read 2 days ago; 90 days before that are 92, and 90 days ago is nearer than 180.
        (read((180, 44_400), (90, 46_200), (2, 48_000)), Pace(1_800, 88, days_ago(2))),
        # Last read 200 days ago: the pace is of then, whatever day is asked for.
        (read((380, 40_000), (300, 42_000), (200, 44_000)), Pace(2_000, 100, days_ago(200))),
        # 70 and 110 days before the last are as near to 90: the earlier counts.
        (read((110, 40_000), (70, 41_000), (0, 42_000)), Pace(2_000, 110, TODAY)),
        (read((111, 40_000), (70, 41_000), (0, 42_000)), Pace(1_000, 70, TODAY)),
        # Fewer than 90 days of readings: as many as there are, from 14 on.
        (read((30, 100), (0, 700)), Pace(600, 30, TODAY)),
        (read((14, 100), (0, 700)), Pace(600, 14, TODAY)),
        (read((400, 100), (0, 700)), Pace(600, 400, TODAY)),
    ],
)
def test_the_pace_is_from_the_last_reading_and_the_one_nearest_90_days_before_it(
    odometer: Odometer, pace: Pace
) -> None:
    assert pace_of(odometer) == pace


def test_of_a_day_with_two_readings_the_highest_counts() -> None:
    assert pace_of(read((90, 100), (90, 300), (0, 700), (0, 900))) == Pace(600, 90, TODAY)


@pytest.mark.parametrize(
    ("odometer", "why"),
    [
        (read(), NoForecast.NO_READINGS),
        (read((0, 700)), NoForecast.ONE_READING),
        (read((13, 100), (0, 700)), NoForecast.READINGS_TOO_CLOSE),
        # 10 days before the last is nearer to 90 than 200 days before it.
        (read((200, 10), (10, 100), (0, 700)), NoForecast.READINGS_TOO_CLOSE),
        (read((90, 700), (0, 700)), NoForecast.NO_MILES_RUN),
    ],
)
def test_why_there_is_no_pace(odometer: Odometer, why: NoForecast) -> None:
    assert pace_of(odometer) is why


def test_a_day_begun_is_the_day_and_counts_from_the_last_reading() -> None:
    pace = Pace(1_800, 90, days_ago(35))  # 20 a day
    assert pace.day_after(390) == days_ago(15)
    assert pace.day_after(400) == days_ago(15)
    assert pace.day_after(401) == days_ago(14)
    assert pace.day_after(0) == days_ago(35)


def test_beyond_the_calendar_there_is_no_day() -> None:
    assert Pace(1, 90, TODAY).day_after(10_000_000) is NoForecast.TOO_FAR_AHEAD
    assert Pace(1, 1, date(9999, 12, 21)).day_after(10) == date(9999, 12, 31)
    assert Pace(1, 1, date(9999, 12, 21)).day_after(11) is NoForecast.TOO_FAR_AHEAD


@given(st.integers(1, 20_000), st.integers(14, 90), st.integers(0, 60_000))
def test_by_that_day_the_miles_are_run_and_by_the_day_before_they_are_not(run: int, days: int, miles: int) -> None:
    on = Pace(run, days, TODAY).day_after(miles)
    assert isinstance(on, date)
    ahead = (on - TODAY).days
    assert run * ahead >= miles * days
    assert ahead == 0 or run * (ahead - 1) < miles * days


@given(st.dictionaries(st.integers(0, 900), st.integers(0, 60), min_size=1, max_size=12))
def test_the_pace_agrees_with_a_plain_search(gains: dict[int, int]) -> None:
    total, made = 0, []
    for days in sorted(gains, reverse=True):
        total += gains[days]
        made.append((days_ago(days), total))
    last_on, last = made[-1]
    others = sorted((abs((last_on - day).days - 90), day, miles) for day, miles in made[:-1])
    found = pace_of(Odometer([Reading(*one) for one in made]))
    if not others:
        assert found is NoForecast.ONE_READING
    elif (last_on - others[0][1]).days < 14:
        assert found is NoForecast.READINGS_TOO_CLOSE
    elif last == others[0][2]:
        assert found is NoForecast.NO_MILES_RUN
    else:
        assert found == Pace(last - others[0][2], (last_on - others[0][1]).days, last_on)
