"""Where a due item stands on the twelve weeks ahead."""

from datetime import date, timedelta

import pytest

from fleet.core.ahead import milestone
from fleet.core.due import DueRecord, due_status
from fleet.core.odometer import Odometer

TODAY = date(2026, 3, 16)


@pytest.mark.parametrize(
    ("days_left", "booked_in", "ahead"),
    [
        (-40, None, 0),
        (0, None, 0),
        (24, None, 24),
        (84, None, 84),
        (85, None, None),
        (None, None, None),
        (24, 3, 3),
        # Booked for after it runs out: the day on which it runs out matters.
        (24, 30, 24),
        # Beyond the road, but booked for a day on it.
        (120, 60, 60),
        # A booked day that has passed is no booking any more.
        (24, -3, 24),
    ],
)
def test_an_item_stands_at_its_day(days_left: int | None, booked_in: int | None, ahead: int | None) -> None:
    due_on = None if days_left is None else TODAY + timedelta(days=days_left)
    booked_for = None if booked_in is None else TODAY + timedelta(days=booked_in)
    status = due_status(DueRecord("mot", due_on, booked_for=booked_for), TODAY, Odometer(()))
    found = milestone(status, TODAY)
    assert (found and found.days_ahead) == ahead
    assert found is None or found.status is status
