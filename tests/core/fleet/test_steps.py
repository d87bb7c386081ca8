"""Which step is told on which day; worked by hand, and lived through over years against rules written a second time."""

import random
from collections.abc import Iterator
from datetime import date, timedelta
from typing import NamedTuple

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleet.core.due import DueRecord, DueStatus, State, due_status
from fleet.core.forecast import Forecast
from fleet.core.odometer import Odometer, Pace, Reading
from fleet.core.readiness import OffRoadReason
from fleet.core.steps import Told, is_due_item, told_of_item, told_of_reason, told_of_unknown

TODAY = date(2026, 3, 16)
UNREAD = Odometer(())


def in_days(days: int) -> date:
    return TODAY + timedelta(days=days)


def step(days_left: int, *, kind: str = "mot", is_daily: bool = True, booked_in: int | None = None) -> int | None:
    """The step of an item with so many days left, booked for a day so many days away."""
    booked_for = None if booked_in is None else in_days(booked_in)
    status = due_status(DueRecord(kind, in_days(days_left), booked_for=booked_for), TODAY, UNREAD)
    told = told_of_item(status, TODAY, is_daily=is_daily)
    return told.step if told else None


@pytest.mark.parametrize(
    ("days_left", "expected"),
    [(31, None), (30, 30), (29, 30), (15, 30), (14, 14), (8, 14), (7, 7), (2, 7), (1, 1), (0, 0)],
)
def test_the_latest_step_reached_before_the_day(days_left: int, expected: int | None) -> None:
    assert step(days_left) == step(days_left, is_daily=False) == expected


@pytest.mark.parametrize(("days_left", "expected"), [(121, None), (120, 120), (31, 120), (30, 30), (0, 0), (-7, -7)])
def test_a_registration_has_one_step_more_before_the_others(days_left: int, expected: int | None) -> None:
    assert step(days_left, kind="adi_registration") == expected


@pytest.mark.parametrize(("days_left", "expected"), [(-1, 0), (-6, 0), (-7, -7), (-13, -7), (-14, -14), (-71, -70)])
def test_overdue_is_told_weekly_if_it_stops_nothing(days_left: int, expected: int) -> None:
    assert step(days_left, kind="service", is_daily=False) == expected


@pytest.mark.parametrize("days_left", [-1, -2, -6, -7, -400])
def test_overdue_is_told_daily_if_it_stops_the_car(days_left: int) -> None:
    assert step(days_left) == days_left


@pytest.mark.parametrize(
    ("days_left", "expected"),
    [(30, None), (14, None), (1, None), (0, 0), (-1, -1), (-6, -1), (-7, -7), (-13, -7), (-14, -14)],
)
def test_booked_it_is_quiet_before_its_day_told_when_it_runs_out_and_weekly_after(
    days_left: int, expected: int | None
) -> None:
    assert step(days_left, booked_in=40) == expected
    assert step(days_left, kind="service", is_daily=False, booked_in=40) == expected


def test_a_booked_day_that_has_passed_quiets_nothing() -> None:
    assert [step(days, booked_in=-1) for days in (20, -3)] == [30, -3]
    assert [step(days, booked_in=0) for days in (20, -3)] == [None, -1]


def test_its_occurrence_is_the_recorded_day() -> None:
    status = due_status(DueRecord("mot", date(2026, 3, 23)), TODAY, UNREAD)
    assert told_of_item(status, TODAY, is_daily=True) == Told("2026-03-23", date(2026, 3, 23), 7)
    assert told_of_item(due_status(DueRecord("mot"), TODAY, UNREAD), TODAY, is_daily=True) is None


def test_of_a_first_mot_by_rule_its_own_day_is_the_one_on_which_it_runs_out() -> None:
    """Somebody who booked it is told on the day from which the law asks for it, and then weekly."""

    def status(days_left: int) -> DueStatus:
        due_on = in_days(days_left)
        return DueStatus("mot", State.OVERDUE, due_on, booked_for=in_days(9), days_left=days_left, is_by_rule=True)

    told = [told_of_item(status(days_left), TODAY, is_daily=True) for days_left in (0, -1, -6, -7)]
    assert [one.step for one in told if one] == [0, 0, 0, -7]


def by_miles(on: date, *, is_past: bool = False, due_on: date | None = None) -> DueStatus:
    """A service at 42,000 miles, foretold or shown to have been reached on a day, due on another."""
    forecast = Forecast(on, is_past, in_days(-60), Pace(1_800, 90, in_days(-60)))
    is_overdue = is_past or (due_on is not None and due_on < TODAY)
    days_left = (min(on, due_on or on) - TODAY).days
    state = State.OVERDUE if is_overdue else State.DUE
    return DueStatus("service", state, due_on, 42_000, forecast=forecast, days_left=days_left)


def test_a_forecast_is_told_without_a_day_and_weekly_once_it_is_past() -> None:
    told = [told_of_item(by_miles(in_days(days)), TODAY, is_daily=False) for days in (30, 3, -6, -35, -36)]
    assert told == [Told("42000 miles", None, step) for step in (30, 7, 0, -35, -35)]


def test_a_mileage_that_a_reading_shows_is_told_weekly() -> None:
    told = told_of_item(by_miles(in_days(-15), is_past=True), TODAY, is_daily=False)
    assert told == Told("42000 miles", None, -14)


def test_a_recorded_day_that_is_past_governs_a_forecast_that_nothing_shows() -> None:
    due_on = in_days(-8)
    told = told_of_item(by_miles(in_days(-35), due_on=due_on), TODAY, is_daily=False)
    assert told == Told("2026-03-08", due_on, -7)
    shown = told_of_item(by_miles(in_days(-35), is_past=True, due_on=due_on), TODAY, is_daily=False)
    assert shown == Told("42000 miles", None, -35)


def test_booked_a_forecast_that_is_past_is_told_weekly_and_never_as_run_out() -> None:
    record = DueRecord("service", due_miles=42_000, booked_for=in_days(5))
    odometer = Odometer([Reading(in_days(-150), 38_200), Reading(in_days(-60), 41_000)])  # 42,000 on 13 February
    told = told_of_item(due_status(record, TODAY, odometer), TODAY, is_daily=False)
    assert told == Told("42000 miles", None, -21)


@pytest.mark.parametrize(("days", "expected"), [(0, 0), (6, 0), (7, -1), (13, -1), (14, -2), (365, -52), (-3, 0)])
def test_what_is_not_known_is_told_every_week_from_when_that_was_first_seen(days: int, expected: int) -> None:
    assert told_of_unknown(TODAY, in_days(days)) == Told("unknown 2026-03-16", None, expected)


@pytest.mark.parametrize("days", [0, 1, 30])
def test_any_other_reason_is_told_daily_from_the_day_it_was_found(days: int) -> None:
    reason = OffRoadReason("dangerous", "Brake pedal soft", TODAY, 7)
    assert told_of_reason(reason, in_days(days)) == Told("2026-03-16", TODAY, -days)
    assert not is_due_item(reason)
    assert is_due_item(OffRoadReason("mot", since=TODAY))


def test_a_reason_without_a_day_is_of_today() -> None:
    assert told_of_reason(OffRoadReason("cover"), TODAY) == Told("2026-03-16", TODAY, 0)


class Item(NamedTuple):
    kind: str
    due_on: date
    booked_for: date | None


def expected_step(item: Item, on: date) -> int | None:
    """The rules of the reminders once more, by the day: what holds on ``on``."""
    days_left = (item.due_on - on).days
    is_booked = item.booked_for is not None and item.booked_for >= on
    is_daily = item.kind in ("mot", "vehicle_tax", "insurance", "adi_registration", "pdi_licence")
    days = [30, 14, 7, 1, 0] + ([120] if item.kind == "adi_registration" else [])
    if days_left > 0 and is_booked:
        return None
    if days_left >= 0:
        return next((day for day in sorted(days) if days_left <= day), None)
    if is_daily and not is_booked:
        return days_left
    weeks = -days_left // 7
    return -7 * weeks if weeks else (-1 if is_booked else 0)


def lives(chance: random.Random, first: date) -> Iterator[tuple[date, Item]]:
    """Years of days of one item: put off, booked, the booking dropped or moved, met and due anew."""
    kind = chance.choice(["mot", "insurance", "service", "adi_registration", "driving_licence", "other"])
    item = Item(kind, first + timedelta(days=chance.randrange(200)), None)
    for day in range(1_500):
        on = first + timedelta(days=day)
        if chance.random() < 0.02:
            item = item._replace(booked_for=chance.choice([None, on + timedelta(days=chance.randrange(60))]))
        if chance.random() < 0.01:
            item = item._replace(due_on=on + timedelta(days=chance.randrange(400)), booked_for=None)
        yield on, item


@settings(max_examples=30)
@given(st.integers(0, 2**32), st.floats(0, 0.5))
def test_over_years_each_step_is_told_once_and_none_is_lost(seed: int, share_down: float) -> None:
    """Whatever the outages: at each run whatever step holds is known, and nobody hears it twice or early."""
    chance = random.Random(seed)  # noqa: S311 - the seed makes it repeatable
    told: set[tuple[date, int]] = set()
    for on, item in lives(chance, TODAY):
        if chance.random() < share_down:
            continue
        status = due_status(DueRecord(item.kind, item.due_on, booked_for=item.booked_for), on, UNREAD)
        is_daily = item.kind in ("mot", "insurance", "adi_registration")
        now = told_of_item(status, on, is_daily=is_daily)
        wanted = expected_step(item, on)
        assert (now.step if now else None) == wanted
        if now is None or now.due_on is None or (now.due_on, now.step) in told:
            continue
        assert now.step >= (item.due_on - on).days, "no step before its day"
        told.add((now.due_on, now.step))


@settings(max_examples=30)
@given(st.integers(0, 2**32))
def test_a_forecast_that_slides_repeats_no_step(seed: int) -> None:
    """Readings come now and then, at every pace: of one mileage each step is told once, and all with no day."""
    chance = random.Random(seed)  # noqa: S311 - the seed makes it repeatable
    readings, told = [Reading(TODAY, 30_000)], []
    for day in range(1, 700):
        on = in_days(day)
        if chance.random() < 0.03:
            readings.append(Reading(on, readings[-1].miles + chance.randrange(0, 3_000)))
        status = due_status(DueRecord("service", due_miles=42_000), on, Odometer(readings))
        now = told_of_item(status, on, is_daily=False)
        if now is None:
            continue
        assert now.due_on is None
        assert status.days_left is not None
        if status.days_left < 0:
            assert now.step % 7 == 0
        if now not in told:
            told.append(now)
    assert len({one.step for one in told}) == len(told)
    assert {one.occurrence for one in told} <= {"42000 miles"}
