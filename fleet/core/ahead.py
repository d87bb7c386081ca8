"""The road ahead: on which of the days to come each due item stands."""

from datetime import date

from fleet.core.due import DueStatus, State

#: How far ahead the road shows.
WEEKS = 12
DAYS = 7 * WEEKS


def stands_on(status: DueStatus) -> date | None:
    """The day at which an item stands: that of its booking, unless it runs out before; None if no day is known.

    What is overdue stands at its own day, which has passed.
    """
    booked_for = status.booked_for if status.state is State.BOOKED else None
    return min((day for day in (status.governing_on, booked_for) if day), default=None)


def is_on_road(status: DueStatus, on: date) -> bool:
    """Whether an item stands on the road that begins on ``on``: overdue, or within twelve weeks."""
    day = stands_on(status)
    return day is not None and (day - on).days <= DAYS


def is_forecast(status: DueStatus) -> bool:
    """Whether the day at which an item stands follows from its miles, and nobody recorded or booked it."""
    return status.is_by_miles and stands_on(status) == status.governing_on
