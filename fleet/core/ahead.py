"""The road ahead: on which of the days to come each due item stands."""

from datetime import date
from typing import NamedTuple

from fleet.core.due import DueStatus, State

#: How far ahead the road shows.
WEEKS = 12
DAYS = 7 * WEEKS


class Milestone(NamedTuple):
    """A due item on the road: how many days ahead it stands, nought if it is overdue."""

    days_ahead: int
    status: DueStatus


def milestone(status: DueStatus, on: date) -> Milestone | None:
    """Where an item stands on the road that begins on ``on``; None if its day is not known or beyond the road.

    A booked one stands at the day it is booked for, unless it runs out before that.
    """
    days = [day for day in (status.governing_on, status.booked_for if status.state is State.BOOKED else None) if day]
    if not days or (ahead := (min(days) - on).days) > DAYS:
        return None
    return Milestone(max(0, ahead), status)
