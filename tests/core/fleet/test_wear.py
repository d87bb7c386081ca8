"""Worked examples of how tyres wear. Today is Monday 16 March 2026."""

from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.stats import linregress

from fleet.core.odometer import NoForecast, Odometer, Pace, Reading
from fleet.core.tread import Depth, Move
from fleet.core.wear import TreadLimit, TreadState, Wear, WearUnknown, least_squares, wear_of_tyre

TODAY = date(2026, 3, 16)
WHEEL = "front_left"


def days_ago(days: int) -> date:
    return TODAY - timedelta(days=days)


def read(days: int, mm: str, wheel: str = WHEEL) -> Depth:
    return Depth(wheel, days_ago(days), Decimal("15.0"), Decimal(mm), Decimal("15.0"))


#: 20 miles a day for a year; it stands at 47,300 today.
DRIVEN = Odometer([Reading(days_ago(365), 40_000), Reading(days_ago(90), 45_500), Reading(TODAY, 47_300)])
PARKED = Odometer([Reading(days_ago(365), 40_000), Reading(days_ago(120), 44_000), Reading(TODAY, 44_000)])


def wear(*depths: Depth, moves: tuple[Move, ...] = (), odometer: Odometer = DRIVEN) -> Wear:
    return wear_of_tyre(WHEEL, depths, moves, odometer, TODAY)


def test_miles_and_days_left_by_hand() -> None:
    # 2.0 mm in 4,000 miles: 0.5 mm in 1,000. From 5.0 mm: 2.0 mm to 3.0 are 4,000 miles, at 20 a day 200 days;
    # 3.4 mm to 1.6 are 6,800 miles, 340 days.
    tyre = wear(read(200, "7.0"), read(0, "5.0"))
    assert (tyre.rate, tyre.missing, tyre.state) == (Fraction(1, 2), None, TreadState.ABOVE)
    assert tyre.practice == TreadLimit(Decimal("3.0"), False, 4_000, date(2026, 10, 2))
    assert tyre.legal == TreadLimit(Decimal("1.6"), False, 6_800, date(2027, 2, 19))
    assert (tyre.wheel, tyre.pace, tyre.miles_now) == (WHEEL, Pace(1_800, 90, TODAY), 47_300)


def test_what_was_driven_since_the_last_reading_is_counted() -> None:
    # Read 100 days and 2,000 miles ago: by now it is down to 4.0 mm, 2,000 miles from 3.0.
    tyre = wear(read(300, "7.0"), read(100, "5.0"))
    assert (tyre.practice.miles, tyre.legal.miles) == (2_000, 4_800)


def test_the_line_goes_between_readings_that_scatter() -> None:
    # At 0, 1, 2 thousand miles 7.0, 6.0, 5.6: slope -0.7, through the mean 6.2 at 1,000; so 5.5 mm now.
    odometer = Odometer([Reading(days_ago(100), 0), Reading(TODAY, 2_000)])
    tyre = wear(read(100, "7.0"), read(50, "6.0"), read(0, "5.6"), odometer=odometer)
    assert tyre.line is not None
    assert (tyre.rate, tyre.line.at(2_000)) == (Fraction("0.7"), Fraction("5.5"))
    assert tyre.practice.miles == 3_571  # 2.5 mm at 0.7 a thousand, whole miles not reached beyond


def test_a_rotation_takes_the_readings_along_and_a_new_tyre_begins_anew() -> None:
    depths = (read(200, "7.0", "rear_left"), read(200, "4.0"), read(0, "5.0"))
    swapped = (Move(WHEEL, days_ago(150), "rear_left"), Move("rear_left", days_ago(150), WHEEL))
    assert wear(*depths, moves=swapped).rate == Fraction(1, 2)
    new = wear(*depths, moves=(Move(WHEEL, days_ago(150)),))
    assert (new.fitted_on, len(new.readings), new.missing) == (days_ago(150), 1, WearUnknown.ONE_READING)
    assert wear(*depths).fitted_on is None


@pytest.mark.parametrize(
    ("depths", "odometer", "why"),
    [
        ([], DRIVEN, WearUnknown.NO_READINGS),
        ([read(0, "5.0")], DRIVEN, WearUnknown.ONE_READING),
        ([read(200, "5.0"), read(100, "5.5"), read(0, "5.5")], DRIVEN, WearUnknown.NOT_FALLING),
        ([read(200, "5.0"), read(0, "5.0")], DRIVEN, WearUnknown.NOT_FALLING),
        ([read(300, "8.0"), read(200, "4.0"), read(100, "4.6"), read(0, "2.0")], DRIVEN, WearUnknown.RISING),
        ([read(200, "7.0"), read(0, "5.0")], Odometer([]), WearUnknown.NO_MILES_KNOWN),
        ([read(400, "7.0"), read(0, "5.0")], DRIVEN, WearUnknown.NO_MILES_KNOWN),
        ([read(1, "7.0"), read(0, "6.9")], PARKED, WearUnknown.NO_MILES_BETWEEN),
    ],
)
def test_why_there_is_no_forecast(depths: list[Depth], odometer: Odometer, why: WearUnknown) -> None:
    tyre = wear(*depths, odometer=odometer)
    assert (tyre.missing, tyre.line, tyre.rate) == (why, None, None)
    assert (tyre.practice.miles, tyre.practice.on, tyre.legal.miles, tyre.legal.on) == (None, None, None, None)


def test_a_small_rise_is_the_gauge_and_not_another_tyre() -> None:
    assert wear(read(300, "8.0"), read(200, "4.0"), read(100, "4.5"), read(0, "2.0")).missing is None


def test_readings_outside_the_odometers_days_do_not_count_and_are_told() -> None:
    until_yesterday = Odometer([Reading(days_ago(365), 40_000), Reading(days_ago(1), 47_280)])
    tyre = wear(read(400, "9.9"), read(200, "7.0"), read(1, "5.0"), read(0, "4.9"), odometer=until_yesterday)
    assert tyre.without_miles_count == 2
    assert [point.depth.read_on for point in tyre.points] == [days_ago(200), days_ago(1)]
    assert tyre.latest == read(0, "4.9")


def test_below_now_says_so_and_nothing_is_negative() -> None:
    tyre = wear(read(200, "4.0"), read(0, "1.5"))
    assert (tyre.practice, tyre.legal) == (TreadLimit(Decimal("3.0"), True), TreadLimit(Decimal("1.6"), True))
    assert tyre.state == TreadState.UNLAWFUL


@pytest.mark.parametrize(("mm", "standing"), [("1.5", "unlawful"), ("1.6", "low"), ("2.9", "low"), ("3.0", "above")])
def test_at_the_limit_itself_a_tyre_is_not_below_it(mm: str, standing: str) -> None:
    assert wear(read(0, mm)).state == standing


def test_a_tyre_worn_down_since_its_last_reading_is_to_be_read_again() -> None:
    # 0.5 mm in 1,000 miles; 2.0 mm when read, 100 days and 2,000 miles ago.
    tyre = wear(read(300, "4.0"), read(100, "2.0"))
    assert tyre.legal == TreadLimit(Decimal("1.6"), False, 0, TODAY, is_reached=True)
    assert tyre.state == TreadState.READ_AGAIN
    assert wear(read(300, "5.5"), read(100, "3.5")).state == TreadState.LOW


def test_nothing_read_is_not_fine() -> None:
    assert wear().state == TreadState.NOT_READ
    assert (wear().practice, wear().legal) == (TreadLimit(Decimal("3.0"), False), TreadLimit(Decimal("1.6"), False))


def test_without_miles_in_the_last_90_days_there_are_miles_but_no_day() -> None:
    tyre = wear(read(365, "7.0"), read(120, "5.0"), odometer=PARKED)
    assert tyre.legal == TreadLimit(Decimal("1.6"), False, 6_800, None, NoForecast.NO_MILES_RUN)


def test_a_tyre_at_the_limit_is_there_today_though_the_car_stands() -> None:
    tyre = wear(read(365, "7.0"), read(120, "3.0"), odometer=PARKED)
    assert tyre.practice == TreadLimit(Decimal("3.0"), False, 0, TODAY, is_reached=True)


def test_the_days_left_count_from_the_last_reading_of_the_odometer() -> None:
    # As by hand above, but 340 days have gone by since anybody looked: the same days, and the tyre is to be read again
    # once the day of the legal limit has come. The two limits are 200 and 340 days after the last reading.
    def after(days: int) -> Wear:
        return wear_of_tyre(WHEEL, [read(200, "7.0"), read(0, "5.0")], (), DRIVEN, TODAY + timedelta(days=days))

    assert (after(339).practice.on, after(339).legal.on) == (date(2026, 10, 2), date(2027, 2, 19))
    assert [after(days).state for days in (199, 200, 339, 340)] == [
        *(TreadState.ABOVE, TreadState.LOW, TreadState.LOW, TreadState.READ_AGAIN)
    ]
    assert after(340).legal.is_reached


def test_a_day_beyond_the_calendar_is_none() -> None:
    crawling = Odometer([Reading(days_ago(365), 40_000), Reading(days_ago(91), 41_000), Reading(TODAY, 41_001)])
    tyre = wear(read(365, "15.0"), read(0, "14.9"), odometer=crawling)
    assert tyre.legal.missing == NoForecast.TOO_FAR_AHEAD
    assert tyre.legal.on is None


POINTS = st.lists(
    st.tuples(st.integers(0, 300_000), st.decimals(0, 15, places=1)), min_size=2, max_size=12, unique_by=lambda p: p[0]
)


@given(POINTS)
def test_slope_and_start_agree_with_another_library(points: list[tuple[int, Decimal]]) -> None:
    miles, depths = [float(x) for x, _ in points], [float(y) for _, y in points]
    assume(max(miles) - min(miles) >= 100)  # closer together, floats lose what fractions keep
    line, theirs = least_squares(points), linregress(miles, depths)
    assert line is not None
    assert float(line.slope) == pytest.approx(theirs.slope, rel=1e-9, abs=1e-12)
    assert float(line.start) == pytest.approx(theirs.intercept, rel=1e-9, abs=1e-9)


@given(POINTS)
def test_the_line_goes_through_the_mean_and_its_distances_cancel(points: list[tuple[int, Decimal]]) -> None:
    line = least_squares(points)
    assert line is not None
    off = [Fraction(y) - line.at(x) for x, y in points]
    assert sum(off) == 0
    assert sum(distance * x for distance, (x, _) in zip(off, points, strict=True)) == 0


@given(st.lists(st.tuples(st.integers(0, 500), st.decimals(0, 15, places=1)), max_size=8), st.integers(0, 9_000))
def test_no_forecast_is_ever_negative_or_in_the_past(read_on: list[tuple[int, Decimal]], run: int) -> None:
    odometer = Odometer([Reading(days_ago(365), 40_000), Reading(TODAY, 40_000 + run)])
    tyre = wear(*(read(days, str(mm)) for days, mm in read_on), odometer=odometer)
    for limit in (tyre.practice, tyre.legal):
        assert limit.miles is None or limit.miles >= 0
        assert limit.on is None or limit.on >= TODAY
    assert (tyre.line is None) == (tyre.missing is not None)
