"""Where a due item stands on the twelve weeks ahead."""

from datetime import date, timedelta

import pytest

from fleet.core.ahead import is_forecast, is_on_road, stands_on
from fleet.core.due import DueRecord, due_status
from fleet.core.odometer import Odometer

TODAY = date(2026, 3, 16)


@pytest.mark.parametrize(
    ("days_left", "booked_in", "ahead", "on_road"),
    [
        (-40, None, -40, True),
        (0, None, 0, True),
        (24, None, 24, True),
        (84, None, 84, True),
        (85, None, 85, False),
        (None, None, None, False),
        (24, 3, 3, True),
        # Booked for after it runs out: the day on which it runs out matters.
        (24, 30, 24, True),
        # Beyond the road, but booked for a day on it.
        (120, 60, 60, True),
        # A booked day that has passed is no booking any more.
        (24, -3, 24, True),
    ],
)
def test_an_item_stands_at_its_day(
    days_left: int | None, booked_in: int | None, ahead: int | None, on_road: bool
) -> None:
    due_on = None if days_left is None else TODAY + timedelta(days=days_left)
    booked_for = None if booked_in is None else TODAY + timedelta(days=booked_in)
    status = due_status(DueRecord("mot", due_on, booked_for=booked_for), TODAY, Odometer(()))
    day = stands_on(status)
    assert (day and (day - TODAY).days) == ahead
    assert is_on_road(status, TODAY) is on_road


@pytest.mark.parametrize(
    ("due_on", "booked_for", "expected"),
    [
        (None, None, True),
        # The recorded day comes first, or a booking does.
        (TODAY + timedelta(days=5), None, False),
        (None, TODAY + timedelta(days=3), False),
        (None, TODAY + timedelta(days=30), True),
    ],
)
def test_a_day_that_follows_from_the_miles_is_a_forecast(
    due_on: date | None, booked_for: date | None, expected: bool
) -> None:
    driven = Odometer(((TODAY - timedelta(days=90), 20_000), (TODAY, 21_800)))
    status = due_status(DueRecord("service", due_on, 22_000, booked_for), TODAY, driven)
    assert is_forecast(status) is expected
