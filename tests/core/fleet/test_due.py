"""Worked examples of how due items stand. Today is Monday 16 March 2026."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.core.due import (
    NO_DOUBTS,
    CarFacts,
    DayUnknown,
    Doubts,
    DueRecord,
    DueStatus,
    State,
    by_urgency,
    due_status,
    statuses_of_car,
)
from fleet.core.due_kinds import DUE_KINDS
from fleet.core.forecast import Forecast
from fleet.core.odometer import NoForecast, Odometer, Pace, Reading

TODAY = date(2026, 3, 16)
UNREAD = Odometer([])


def in_days(days: int) -> date:
    return TODAY + timedelta(days=days)


def odometer(*readings: tuple[date, int]) -> Odometer:
    return Odometer(Reading(*reading) for reading in readings)


#: 1,800 miles in the last 90 days: 20 a day. It stands at 48,000.
DRIVEN = odometer((in_days(-180), 44_400), (in_days(-90), 46_200), (TODAY, 48_000))


@pytest.mark.parametrize(
    ("kind", "days", "state"),
    [
        ("mot", -1, State.OVERDUE),
        ("mot", 0, State.DUE),
        ("mot", 30, State.DUE),
        ("mot", 31, State.LATER),
        ("adi_registration", 120, State.DUE),
        ("adi_registration", 121, State.LATER),
    ],
)
def test_state_by_day(kind: str, days: int, state: State) -> None:
    status = due_status(DueRecord(kind, in_days(days)), TODAY, UNREAD)
    assert (status.state, status.days_left, status.forecast_on) == (state, days, None)


@pytest.mark.parametrize(
    ("days", "booked_in", "state"),
    [
        (20, 5, State.BOOKED),
        (200, 5, State.BOOKED),
        (20, 0, State.BOOKED),
        (20, -1, State.DUE),
        (200, -1, State.LATER),
        (-1, 5, State.OVERDUE),
    ],
)
def test_a_booking_holds_until_its_day_and_never_hides_that_it_is_overdue(
    days: int, booked_in: int, state: State
) -> None:
    record = DueRecord("mot", in_days(days), booked_for=in_days(booked_in))
    status = due_status(record, TODAY, UNREAD)
    assert (status.state, status.booked_for) == (state, in_days(booked_in) if booked_in >= 0 else None)


def test_nothing_recorded_is_unknown_even_if_booked() -> None:
    status = due_status(DueRecord("insurance", booked_for=in_days(3)), TODAY, UNREAD)
    assert (status.state, status.days_left, status.missing) == (State.UNKNOWN, None, DayUnknown.NOTHING_RECORDED)


def test_a_mileage_is_forecast_from_the_last_90_days() -> None:
    status = due_status(DueRecord("service", due_miles=48_390), TODAY, DRIVEN)
    assert status.forecast_on == in_days(20)  # 390 miles at 20 a day are 19.5 days: the day it is reached
    assert (status.state, status.days_left) == (State.DUE, 20)
    assert status.forecast == Forecast(in_days(20), False, TODAY, 0, Pace(1_800, 90, TODAY))


def test_the_earlier_of_day_and_forecast_governs() -> None:
    by_day = due_status(DueRecord("service", in_days(10), 48_390), TODAY, DRIVEN)
    assert (by_day.days_left, by_day.governing_on, by_day.is_by_miles) == (10, in_days(10), False)
    both = due_status(DueRecord("service", in_days(20), 48_390), TODAY, DRIVEN)
    assert (both.days_left, both.governing_on, both.is_by_miles) == (20, in_days(20), False)
    by_miles = due_status(DueRecord("service", in_days(40), 48_390), TODAY, DRIVEN)
    assert (by_miles.days_left, by_miles.governing_on, by_miles.is_by_miles) == (20, in_days(20), True)


def test_a_car_with_fewer_than_90_days_of_readings_is_forecast_from_those() -> None:
    young = odometer((in_days(-30), 40_000), (TODAY, 40_900))  # 30 a day
    status = due_status(DueRecord("service", due_miles=41_500), TODAY, young)
    assert status.forecast_on == in_days(20)
    assert status.forecast is not None
    assert status.forecast.pace == Pace(900, 30, TODAY)


def test_a_forecast_starts_from_the_last_reading_and_by_it_alone_nothing_is_overdue() -> None:
    # Last read 35 days ago at 48,000, 20 miles a day: the 48,000 due were reached that day, 48,390 after 20 days.
    stale = odometer((in_days(-125), 46_200), (in_days(-35), 48_000))
    there = due_status(DueRecord("service", due_miles=48_000), TODAY, stale)
    assert (there.state, there.days_left, there.is_past_by_forecast) == (State.DUE, -35, True)
    past = due_status(DueRecord("service", due_miles=48_390), TODAY, stale)
    assert (past.state, past.forecast_on, past.days_left) == (State.DUE, in_days(-15), -15)
    assert past.forecast == Forecast(in_days(-15), False, in_days(-35), 35, Pace(1_800, 90, in_days(-35)))
    ahead = due_status(DueRecord("service", due_miles=49_400), TODAY, stale)
    assert (ahead.state, ahead.days_left, ahead.is_past_by_forecast) == (State.LATER, 35, False)
    # A reading that shows more says so.
    read = odometer((in_days(-125), 46_200), (in_days(-35), 48_000), (TODAY, 48_800))
    shown = due_status(DueRecord("service", due_miles=48_390), TODAY, read)
    assert (shown.state, shown.days_left, shown.is_past_by_forecast) == (State.OVERDUE, -18, False)


def test_past_by_forecast_and_booked_is_booked_and_with_its_day_over_it_is_overdue() -> None:
    stale = odometer((in_days(-125), 46_200), (in_days(-35), 48_000))
    booked = due_status(DueRecord("service", due_miles=48_390, booked_for=in_days(2)), TODAY, stale)
    assert (booked.state, booked.days_left) == (State.BOOKED, -15)
    by_day = due_status(DueRecord("service", in_days(-1), 48_390), TODAY, stale)
    assert (by_day.state, by_day.days_left) == (State.OVERDUE, -15)


def test_one_reading_above_the_mileage_tells_though_it_gives_no_pace() -> None:
    status = due_status(DueRecord("service", due_miles=47_000), TODAY, odometer((in_days(-3), 48_000)))
    assert status.state is State.OVERDUE
    assert status.forecast == Forecast(in_days(-4), True, in_days(-3), 3)


def test_by_miles_it_is_overdue_only_above_the_mileage() -> None:
    at_it = due_status(DueRecord("service", due_miles=48_000), TODAY, DRIVEN)
    assert (at_it.state, at_it.days_left) == (State.DUE, 0)
    above = due_status(DueRecord("service", due_miles=47_999), TODAY, DRIVEN)
    assert (above.state, above.days_left) == (State.OVERDUE, -1)


def test_overdue_by_miles_counts_from_the_day_the_readings_tell() -> None:
    status = due_status(DueRecord("service", due_miles=47_800), TODAY, DRIVEN)
    assert (status.state, status.forecast_on, status.days_left) == (State.OVERDUE, in_days(-10), -10)
    assert status.forecast == Forecast(in_days(-10), True, TODAY, 0, Pace(1_800, 90, TODAY))


def test_overdue_by_miles_is_known_though_the_car_has_stood_since() -> None:
    stood = odometer((in_days(-300), 40_000), (in_days(-200), 41_000))
    status = due_status(DueRecord("service", due_miles=40_500), TODAY, stood)
    assert (status.state, status.days_left) == (State.OVERDUE, -250)


def test_readings_after_the_day_are_not_used() -> None:
    later = odometer((in_days(-90), 46_200), (TODAY, 48_000), (in_days(5), 60_000))
    record = DueRecord("service", due_miles=48_390)
    assert due_status(record, TODAY, later) == due_status(record, TODAY, DRIVEN)


@pytest.mark.parametrize(
    ("readings", "missing"),
    [
        (UNREAD, NoForecast.NO_READINGS),
        (odometer((in_days(1), 40_000)), NoForecast.NO_READINGS),
        (odometer((TODAY, 40_000)), NoForecast.ONE_READING),
        (odometer((in_days(-13), 39_000), (TODAY, 40_000)), NoForecast.READINGS_TOO_CLOSE),
        (odometer((in_days(-200), 40_000), (in_days(-100), 40_000)), NoForecast.NO_MILES_RUN),
        (odometer((in_days(-90), 40_000), (TODAY, 40_001)), NoForecast.TOO_FAR_AHEAD),
    ],
)
def test_without_a_forecast_a_mileage_alone_is_unknown_and_says_why(readings: Odometer, missing: NoForecast) -> None:
    status = due_status(DueRecord("service", due_miles=9_000_000), TODAY, readings)
    assert (status.state, status.forecast, status.days_left, status.missing) == (
        State.UNKNOWN,
        None,
        None,
        missing,
    )
    assert status.governing_on is None
    assert not status.is_by_miles


def test_without_a_forecast_the_recorded_day_still_governs() -> None:
    status = due_status(DueRecord("service", in_days(12), 60_000), TODAY, UNREAD)
    assert (status.state, status.days_left, status.missing) == (State.DUE, 12, NoForecast.NO_READINGS)


@given(
    driven=st.integers(0, 30_000),
    readings=st.integers(1, 400),
    ahead=st.integers(-5_000, 60_000),
)
def test_a_forecast_is_the_first_day_on_which_the_mileage_is_reached(driven: int, readings: int, ahead: int) -> None:
    first = in_days(-readings)
    book = odometer((first, 10_000), (TODAY, 10_000 + driven))
    status = due_status(DueRecord("service", due_miles=10_000 + driven + ahead), TODAY, book)
    if ahead < 0:
        assert status.state is State.OVERDUE
        return
    if status.forecast is None:
        assert status.missing in {NoForecast.NO_MILES_RUN, NoForecast.TOO_FAR_AHEAD, NoForecast.READINGS_TOO_CLOSE}
        return
    days, rest = (status.forecast.on - TODAY).days, status.forecast.pace
    assert rest is not None
    assert days * rest.miles >= ahead * rest.days
    assert days == 0 or (days - 1) * rest.miles < ahead * rest.days


@given(
    gains=st.dictionaries(st.integers(-700, 0), st.integers(0, 9_000), max_size=8),
    due_miles=st.integers(0, 40_000),
    due_in=st.none() | st.integers(-60, 400),
    booked_in=st.none() | st.integers(-60, 60),
)
def test_a_state_follows_from_day_reading_and_booking_and_no_forecast_makes_overdue(
    gains: dict[int, int], due_miles: int, due_in: int | None, booked_in: int | None
) -> None:
    total, made = 0, []
    for day in sorted(gains):
        total += gains[day]
        made.append((in_days(day), total))
    days = [None if one is None else in_days(one) for one in (due_in, booked_in)]
    status = due_status(DueRecord("service", days[0], due_miles, days[1]), TODAY, odometer(*made))
    if (due_in is not None and due_in < 0) or total > due_miles:
        assert status.state is State.OVERDUE
    elif status.days_left is None:
        assert (status.state, due_in) == (State.UNKNOWN, None)
    elif booked_in is not None and booked_in >= 0:
        assert status.state is State.BOOKED
    else:
        assert status.state is (State.DUE if status.days_left <= 30 else State.LATER)
    known = [day for day in (days[0], status.forecast_on) if day]
    assert status.days_left == (min((day - TODAY).days for day in known) if known else None)


# --- What every car is asked for ---------------------------------------------------------------------------


#: The first day of a car's service in the book, before and after the first MOT day of the examples.
EARLY, LATE = date(2024, 1, 1), date(2026, 3, 1)


def listed(
    *records: DueRecord,
    registered: date | None = None,
    nation: str = "GB",
    since: date = EARLY,
    driven: Odometer = UNREAD,
    doubts: Doubts = NO_DOUBTS,
) -> list[DueStatus]:
    return statuses_of_car(records, CarFacts(registered, since, nation, driven, doubts), TODAY)


def states(*records: DueRecord, registered: date | None = None, nation: str = "GB") -> dict[str, State]:
    return {status.kind: status.state for status in listed(*records, registered=registered, nation=nation)}


def test_mot_tax_and_insurance_are_listed_though_nothing_is_recorded() -> None:
    assert states() == dict.fromkeys(("mot", "vehicle_tax", "insurance"), State.UNKNOWN)


def test_a_young_car_has_its_first_mot_day_by_rule() -> None:
    [mot] = [status for status in listed(registered=date(2023, 4, 1)) if status.kind == "mot"]
    assert (mot.state, mot.due_on, mot.days_left, mot.is_by_rule) == (State.DUE, date(2026, 4, 1), 16, True)
    assert states(registered=date(2023, 4, 1), nation="NI")["mot"] == State.LATER


@pytest.mark.parametrize(
    ("registered", "nation", "since", "state", "days_left"),
    [
        (date(2023, 3, 17), "GB", EARLY, State.DUE, 1),
        (date(2023, 3, 16), "GB", EARLY, State.OVERDUE, 0),  # its first day is today: the law asks for one from it on
        (date(2023, 3, 16), "NI", EARLY, State.LATER, 365),
        (date(2022, 3, 16), "NI", EARLY, State.OVERDUE, 0),
        (date(2023, 3, 1), "GB", date(2026, 3, 1), State.OVERDUE, -15),  # in the book on that very day
        (date(2023, 3, 1), "GB", date(2026, 3, 2), State.UNKNOWN, None),  # it came later: it may have one
        (date(2023, 3, 16), "GB", date(2026, 3, 17), State.UNKNOWN, None),
        (date(2023, 3, 17), "GB", date(2026, 4, 1), State.DUE, 1),  # not in service yet, and the day is to come
    ],
)
def test_with_no_mot_recorded_the_first_day_by_rule_counts_if_the_book_knew_it(
    registered: date, nation: str, since: date, state: State, days_left: int | None
) -> None:
    [mot] = [one for one in listed(registered=registered, nation=nation, since=since) if one.kind == "mot"]
    assert (mot.state, mot.days_left, mot.is_by_rule) == (state, days_left, days_left is not None)


def test_a_first_mot_booked_is_overdue_from_its_day_all_the_same() -> None:
    mot = listed(DueRecord("mot", booked_for=TODAY), registered=date(2023, 3, 16))[0]
    assert (mot.kind, mot.state, mot.booked_for) == ("mot", State.OVERDUE, TODAY)


def test_a_recorded_certificate_is_good_on_its_last_day() -> None:
    assert states(DueRecord("mot", TODAY), registered=date(2023, 3, 16))["mot"] == State.DUE


def test_what_is_in_doubt_is_unknown_but_what_has_run_out_is_overdue() -> None:
    doubts = dict.fromkeys(("insurance", "vehicle_tax"), DayUnknown.TUITION_NOT_CONFIRMED)
    found = {
        one.kind: one
        for one in listed(DueRecord("insurance", in_days(5)), DueRecord("vehicle_tax", in_days(-1)), doubts=doubts)
    }
    insured = found["insurance"]
    assert (insured.state, insured.due_on, insured.days_left) == (State.UNKNOWN, in_days(5), 5)
    assert insured.missing is DayUnknown.TUITION_NOT_CONFIRMED
    assert (found["vehicle_tax"].state, found["vehicle_tax"].missing) == (State.OVERDUE, None)
    nothing = {one.kind: one.missing for one in listed(doubts=doubts)}
    assert nothing["insurance"] is DayUnknown.NOTHING_RECORDED


def test_a_recorded_mot_goes_before_the_rule() -> None:
    assert states(DueRecord("mot", in_days(-3)), registered=date(2025, 6, 1))["mot"] == State.OVERDUE


def test_a_row_without_a_day_changes_nothing_but_keeps_its_booking() -> None:
    young = date(2023, 4, 1)
    assert states(DueRecord("mot"), registered=young) == states(registered=young)
    assert states(DueRecord("mot", booked_for=in_days(2)), registered=young)["mot"] == State.BOOKED


def test_an_unknown_mot_says_whether_first_registration_is_what_is_missing() -> None:
    def missing(registered: date | None) -> DayUnknown | NoForecast | None:
        return next(one.missing for one in listed(registered=registered, since=LATE) if one.kind == "mot")

    assert missing(None) is DayUnknown.NO_FIRST_REGISTRATION
    assert missing(date(2019, 1, 1)) is DayUnknown.NOTHING_RECORDED


def test_first_registration_is_missing_of_the_mot_alone() -> None:
    assert {status.kind: status.missing for status in listed()} == {
        "mot": DayUnknown.NO_FIRST_REGISTRATION,
        "vehicle_tax": DayUnknown.NOTHING_RECORDED,
        "insurance": DayUnknown.NOTHING_RECORDED,
    }


def test_what_a_car_is_due_by_miles_goes_by_its_odometer() -> None:
    service = DueRecord("service", due_miles=48_390)
    assert [one.forecast_on for one in listed(service, driven=DRIVEN) if one.kind == "service"] == [in_days(20)]


def test_of_the_same_state_fewer_days_come_first() -> None:
    def order(service: int, tyres: int, controls: int) -> list[str]:
        days = {"service": service, "tyres": tyres, "dual_controls": controls}
        stand = [due_status(DueRecord(kind, in_days(left)), TODAY, UNREAD) for kind, left in days.items()]
        return [status.kind for status in sorted(stand, key=by_urgency)]

    assert order(-3, -10, -5) == ["tyres", "dual_controls", "service"]
    assert order(-10, -3, -5) == ["service", "dual_controls", "tyres"]
    assert order(1, 0, 2) == ["tyres", "service", "dual_controls"]
    assert order(2, 1, 0) == ["dual_controls", "tyres", "service"]


def test_worst_comes_first() -> None:
    records = [
        DueRecord("service", in_days(-40)),
        DueRecord("vehicle_tax", in_days(3)),
        DueRecord("mot", in_days(-1)),
        DueRecord("breakdown_cover", in_days(2)),
        DueRecord("tyres", in_days(300)),
        DueRecord("dual_controls", in_days(20), booked_for=in_days(4)),
    ]
    # What has run out and stops the car; what is not known; then all by day, overdue or not.
    assert [status.kind for status in listed(*records)] == [
        *("mot", "insurance", "service", "breakdown_cover", "vehicle_tax", "dual_controls", "tyres")
    ]


def test_what_stops_a_car_comes_by_its_gravity_and_a_lapsed_registration_with_it() -> None:
    days = {"vehicle_tax": -30, "insurance": -2, "mot": -1, "adi_registration": -60, "service": -90}
    found = sorted(
        (due_status(DueRecord(kind, in_days(left)), TODAY, UNREAD) for kind, left in days.items()), key=by_urgency
    )
    assert [status.kind for status in found] == ["mot", "insurance", "vehicle_tax", "adi_registration", "service"]


@given(st.permutations([DueRecord(kind, in_days(5)) for kind in DUE_KINDS]))
def test_the_order_does_not_depend_on_the_order_of_the_rows(records: list[DueRecord]) -> None:
    ordered = sorted((due_status(record, TODAY, UNREAD) for record in records), key=by_urgency)
    stopping = ["mot", "insurance", "vehicle_tax"]
    assert [status.kind for status in ordered[: len(stopping)]] == stopping
