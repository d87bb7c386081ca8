"""Which items want a look, and the class of a car."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.core.board import Urgency, needs_attention, urgency_of
from fleet.core.due import DueRecord, DueStatus, due_status
from fleet.core.odometer import Odometer

ON = date(2026, 3, 16)


def status(days_left: int | None, booked_in: int | None = None) -> DueStatus:
    due_on = None if days_left is None else ON + timedelta(days=days_left)
    booked_for = None if booked_in is None else ON + timedelta(days=booked_in)
    return due_status(DueRecord("service", due_on, booked_for=booked_for), ON, Odometer(()))


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


@pytest.mark.parametrize(
    ("days_left", "expected"),
    [
        ([100, None], Urgency.OVERDUE_OR_UNKNOWN),
        ([100, -1], Urgency.OVERDUE_OR_UNKNOWN),
        ([100, 3], Urgency.DUE),
        ([100, 200], Urgency.QUIET),
    ],
)
def test_the_worst_item_decides_where_a_car_stands(days_left: list[int | None], expected: Urgency) -> None:
    assert urgency_of(map(status, days_left), off_the_road=False) is expected
    assert urgency_of(map(status, days_left), off_the_road=True) is Urgency.OFF_THE_ROAD
