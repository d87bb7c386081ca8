"""Which items want a look, and how a car and each of its obligations stands."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.core.board import (
    CHECK,
    DEFECTS,
    OBLIGATIONS,
    OF_CARS,
    TYRES,
    Urgency,
    needs_attention,
    urgency_of,
    urgency_of_check,
    urgency_of_defects,
    urgency_of_tread,
)
from fleet.core.defects import OpenDefect, Severity
from fleet.core.due import DueRecord, DueStatus, due_status
from fleet.core.due_kinds import DUE_KINDS
from fleet.core.odometer import Odometer
from fleet.core.points import next_check_due
from fleet.core.readiness import NOTHING_WRONG
from fleet.core.verdict import verdict_of

ON = date(2026, 3, 16)


def status(days_left: int | None, booked_in: int | None = None, kind: str = "service") -> DueStatus:
    due_on = None if days_left is None else ON + timedelta(days=days_left)
    booked_for = None if booked_in is None else ON + timedelta(days=booked_in)
    return due_status(DueRecord(kind, due_on, booked_for=booked_for), ON, Odometer(()))


@pytest.mark.parametrize(
    ("days_left", "within", "wanted"),
    [
        (None, None, True),
        (None, 7, True),
        (-1, None, True),
        (-400, 7, True),
        (30, None, True),
        (31, None, False),
        (7, 7, True),
        (8, 7, False),
        (90, 90, True),
        (91, 90, False),
    ],
)
def test_what_wants_a_look(days_left: int | None, within: int | None, wanted: bool) -> None:
    assert needs_attention(status(days_left), within) == wanted


def test_what_is_booked_is_in_hand_but_its_day_comes_all_the_same() -> None:
    assert not needs_attention(status(5, booked_in=3))
    assert needs_attention(status(5, booked_in=3), 7)


@given(st.none() | st.integers(-500, 500), st.integers(0, 400), st.integers(0, 400))
def test_a_wider_filter_hides_nothing_that_a_narrower_one_shows(days_left: int | None, one: int, other: int) -> None:
    narrow, wide = sorted((one, other))
    assert not needs_attention(status(days_left), narrow) or needs_attention(status(days_left), wide)


def test_a_car_of_which_only_a_service_has_no_forecast_is_known_and_without_tax_it_is_not() -> None:
    assert urgency_of(verdict_of([status(100), status(None)], NOTHING_WRONG)) is Urgency.LATER
    assert urgency_of(verdict_of([status(-1), status(None)], NOTHING_WRONG)) is Urgency.DUE
    untaxed = status(None, kind="vehicle_tax")
    assert urgency_of(verdict_of([status(100), untaxed], NOTHING_WRONG)) is Urgency.UNKNOWN
    assert urgency_of(verdict_of([status(-1), untaxed], NOTHING_WRONG)) is Urgency.UNKNOWN


@pytest.mark.parametrize(
    ("days_left", "expected"),
    [
        ([100, -1], Urgency.DUE),
        ([100, 3], Urgency.DUE),
        ([100, 200], Urgency.LATER),
        ([], Urgency.LATER),
    ],
)
def test_a_car_stands_as_the_verdict_says(days_left: list[int], expected: Urgency) -> None:
    statuses = [status(days) for days in days_left]
    stopped = NOTHING_WRONG._replace(defects=(defect(Severity.DANGEROUS),))
    assert urgency_of(verdict_of(statuses, NOTHING_WRONG)) is expected
    assert urgency_of(verdict_of(statuses, stopped)) is Urgency.OFF
    assert expected in OF_CARS


@pytest.mark.parametrize(
    ("least", "expected"),
    [
        (None, Urgency.UNKNOWN),
        ("1.5", Urgency.OFF),
        ("1.6", Urgency.DUE),
        ("3.0", Urgency.DUE),
        ("3.1", Urgency.LATER),
    ],
)
def test_tread_is_due_at_3_mm_and_unlawful_below_1_6(least: str | None, expected: Urgency) -> None:
    assert urgency_of_tread(None if least is None else Decimal(least)) is expected


@pytest.mark.parametrize(("days_ago", "expected"), [(None, Urgency.UNKNOWN), (6, Urgency.LATER), (7, Urgency.DUE)])
def test_a_check_is_due_after_a_week(days_ago: int | None, expected: Urgency) -> None:
    last_on = None if days_ago is None else ON - timedelta(days=days_ago)
    assert urgency_of_check(next_check_due(last_on, ON)) is expected


def defect(severity: Severity) -> OpenDefect:
    return OpenDefect(1, severity, "Rattles", ON)


def test_the_gravest_defect_decides() -> None:
    assert urgency_of_defects([]) is Urgency.LATER
    assert urgency_of_defects([defect(Severity.WATCH)]) is Urgency.DUE
    assert urgency_of_defects([defect(Severity.WATCH), defect(Severity.BEFORE_NEXT_LESSON)]) is Urgency.OFF


def test_each_kind_of_a_car_is_an_obligation_and_the_gravest_come_first() -> None:
    assert {*OBLIGATIONS} == {name for name, kind in DUE_KINDS.items() if kind.of != "member"} | {CHECK, DEFECTS}
    assert list(OBLIGATIONS)[:4] == ["mot", "insurance", "vehicle_tax", "service"]
    columns = [one.column for one in OBLIGATIONS.values() if one.column]
    assert columns == ["MOT", "Insurance", "Tax", "Service", "Tyres", "Controls", "Check"]
    assert TYRES.column == "Tyres"
