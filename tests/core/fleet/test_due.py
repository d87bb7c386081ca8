"""Worked examples of how due items stand. Today is Monday 16 March 2026."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.core.due import DayUnknown, DueRecord, Forecast, State, by_urgency, due_status, occurrence, statuses_of_car
from fleet.core.due_kinds import DUE_KINDS
from fleet.core.odometer import Odometer, Reading

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
        ("adi_registration", 90, State.DUE),
        ("adi_registration", 91, State.LATER),
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
    assert (status.state, status.booked_for) == (state, in_days(booked_in))


def test_nothing_recorded_is_unknown_even_if_booked() -> None:
    status = due_status(DueRecord("insurance", booked_for=in_days(3)), TODAY, UNREAD)
    assert (status.state, status.days_left, status.missing) == (State.UNKNOWN, None, DayUnknown.NOTHING_RECORDED)


def test_a_mileage_is_forecast_from_the_last_90_days() -> None:
    status = due_status(DueRecord("service", due_miles=48_390), TODAY, DRIVEN)
    assert status.forecast_on == in_days(20)  # 390 miles at 20 a day are 19.5 days: the day it is reached
    assert (status.state, status.days_left) == (State.DUE, 20)
    assert status.forecast == Forecast(in_days(20), False, 1_800, 90, TODAY)


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
    assert (status.forecast.miles, status.forecast.days) == (900, 30)


def test_by_miles_it_is_overdue_only_above_the_mileage() -> None:
    at_it = due_status(DueRecord("service", due_miles=48_000), TODAY, DRIVEN)
    assert (at_it.state, at_it.days_left) == (State.DUE, 0)
    above = due_status(DueRecord("service", due_miles=47_999), TODAY, DRIVEN)
    assert (above.state, above.days_left) == (State.OVERDUE, -1)


def test_overdue_by_miles_counts_from_the_day_the_readings_tell() -> None:
    status = due_status(DueRecord("service", due_miles=47_800), TODAY, DRIVEN)
    assert (status.state, status.forecast_on, status.days_left) == (State.OVERDUE, in_days(-10), -10)
    assert status.forecast == Forecast(in_days(-10), True, 1_800, 90, TODAY)


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
        (UNREAD, DayUnknown.NO_READINGS),
        (odometer((in_days(1), 40_000)), DayUnknown.NO_READINGS),
        (odometer((TODAY, 40_000)), DayUnknown.NO_MILES_RUN),
        (odometer((in_days(-200), 39_000), (in_days(-100), 40_000)), DayUnknown.NO_MILES_RUN),
        (odometer((in_days(-90), 40_000), (TODAY, 40_001)), DayUnknown.TOO_FAR_AHEAD),
    ],
)
def test_without_a_forecast_a_mileage_alone_is_unknown_and_says_why(readings: Odometer, missing: DayUnknown) -> None:
    status = due_status(DueRecord("service", due_miles=900_000), TODAY, readings)
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
    assert (status.state, status.days_left, status.missing) == (State.DUE, 12, DayUnknown.NO_READINGS)


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
        assert status.missing in {DayUnknown.NO_MILES_RUN, DayUnknown.TOO_FAR_AHEAD}
        return
    days, rest = (status.forecast.on - TODAY).days, status.forecast
    assert days * rest.miles >= ahead * rest.days
    assert days == 0 or (days - 1) * rest.miles < ahead * rest.days


# --- What every car is asked for ---------------------------------------------------------------------------


def states(*records: DueRecord, registered: date | None = None, nation: str = "GB") -> dict[str, State]:
    listed = statuses_of_car(records, first_registered=registered, nation=nation, on=TODAY, odometer=UNREAD)
    return {status.kind: status.state for status in listed}


def test_mot_tax_and_insurance_are_listed_though_nothing_is_recorded() -> None:
    assert states() == dict.fromkeys(("mot", "vehicle_tax", "insurance"), State.UNKNOWN)


def test_a_young_car_has_its_first_mot_day_by_rule() -> None:
    listed = statuses_of_car([], first_registered=date(2023, 4, 1), nation="GB", on=TODAY, odometer=UNREAD)
    [mot] = [status for status in listed if status.kind == "mot"]
    assert (mot.state, mot.due_on, mot.days_left) == (State.DUE, date(2026, 4, 1), 16)
    assert states(registered=date(2023, 4, 1), nation="NI")["mot"] == State.LATER


def test_an_older_car_with_no_mot_recorded_is_unknown_and_not_overdue() -> None:
    assert states(registered=date(2023, 3, 16))["mot"] == State.DUE  # its first day is today
    assert states(registered=date(2023, 3, 15))["mot"] == State.UNKNOWN


def test_a_recorded_mot_goes_before_the_rule() -> None:
    assert states(DueRecord("mot", in_days(-3)), registered=date(2025, 6, 1))["mot"] == State.OVERDUE


def test_a_row_without_a_day_changes_nothing_but_keeps_its_booking() -> None:
    young = date(2023, 4, 1)
    assert states(DueRecord("mot"), registered=young) == states(registered=young)
    assert states(DueRecord("mot", booked_for=in_days(2)), registered=young)["mot"] == State.BOOKED


def test_an_unknown_mot_says_whether_first_registration_is_what_is_missing() -> None:
    def missing(registered: date | None) -> DayUnknown | None:
        listed = statuses_of_car([], first_registered=registered, nation="GB", on=TODAY, odometer=UNREAD)
        return next(status.missing for status in listed if status.kind == "mot")

    assert missing(None) is DayUnknown.NO_FIRST_REGISTRATION
    assert missing(date(2019, 1, 1)) is DayUnknown.NOTHING_RECORDED


def test_first_registration_is_missing_of_the_mot_alone() -> None:
    listed = statuses_of_car([], first_registered=None, nation="GB", on=TODAY, odometer=UNREAD)
    assert {status.kind: status.missing for status in listed} == {
        "mot": DayUnknown.NO_FIRST_REGISTRATION,
        "vehicle_tax": DayUnknown.NOTHING_RECORDED,
        "insurance": DayUnknown.NOTHING_RECORDED,
    }


def test_what_a_car_is_due_by_miles_goes_by_its_odometer() -> None:
    service = DueRecord("service", due_miles=48_390)
    listed = statuses_of_car([service], first_registered=None, nation="GB", on=TODAY, odometer=DRIVEN)
    assert [status.forecast_on for status in listed if status.kind == "service"] == [in_days(20)]


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
    listed = statuses_of_car(records, first_registered=None, nation="GB", on=TODAY, odometer=UNREAD)
    assert [status.kind for status in listed] == [
        *("mot", "service", "insurance", "vehicle_tax", "breakdown_cover", "dual_controls", "tyres")
    ]


@given(st.permutations([DueRecord(kind, in_days(5)) for kind in DUE_KINDS]))
def test_the_order_does_not_depend_on_the_order_of_the_rows(records: list[DueRecord]) -> None:
    ordered = sorted((due_status(record, TODAY, UNREAD) for record in records), key=by_urgency)
    stopping = [kind.name for kind in DUE_KINDS.values() if kind.stops_car]
    assert [status.kind for status in ordered[: len(stopping)]] == stopping


# --- Which time round it is ---------------------------------------------------------------------------------


def test_an_occurrence_is_the_recorded_day_and_mileage() -> None:
    assert occurrence(due_status(DueRecord("mot", date(2026, 4, 1)), TODAY, UNREAD)) == "2026-04-01/-"
    assert occurrence(due_status(DueRecord("service", None, 0), TODAY, UNREAD)) == "-/0"
    both = due_status(DueRecord("service", date(2026, 4, 1), 4_294_967_295), TODAY, UNREAD)
    assert occurrence(both) == "2026-04-01/4294967295"


def test_a_moving_forecast_is_the_same_occurrence() -> None:
    record = DueRecord("service", due_miles=48_390)
    slower = odometer((in_days(-90), 47_000), (TODAY, 48_000))
    before, after = due_status(record, TODAY, DRIVEN), due_status(record, TODAY, slower)
    assert before.forecast_on != after.forecast_on
    assert occurrence(before) == occurrence(after)
