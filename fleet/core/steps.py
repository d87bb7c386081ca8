"""When a reader is told of what: the steps before a due day, how often after it, and what tells one time from another.

A step counts down to the day as the days left do: 30, 14, 7, 1, 0, and below nought once it is past. A plan tells the
latest step reached, so a night without a run loses none.
"""

from datetime import date
from typing import NamedTuple

from fleet.core.due import DueStatus, State
from fleet.core.due_kinds import DUE_KINDS
from fleet.core.readiness import OffRoadReason

#: Days before the due day, and the day itself.
STEPS = (30, 14, 7, 1, 0)
DAYS_BETWEEN_MILD = 7


class Told(NamedTuple):
    """One step, and of which occurrence: nobody is told the same of both twice.

    ``occurrence`` is the due day, the mileage, the day on which something was found, or that from which it is not
    known; ``due_on`` is None where only a forecast, or nothing, names a day.
    """

    occurrence: str
    due_on: date | None
    step: int


def told_of_item(status: DueStatus, on: date, *, is_daily: bool) -> Told | None:
    """The step of a due item with a day, recorded or forecast, by ``on``; None before the first, or if it has no day.

    ``is_daily``: it is told every day once overdue. A forecast day is left out of the occurrence: it moves with every
    reading, and nobody is told the same step again for that.
    """
    is_by_miles, days_left = status.is_by_miles, status.days_left
    if is_by_miles and status.due_on and status.due_on < on and not (status.forecast and status.forecast.is_past):
        # Only its recorded day shows that it is overdue.
        is_by_miles, days_left = False, (status.due_on - on).days
    step = _step_of_item(status, days_left, is_daily)
    if step is None:
        return None
    if is_by_miles or status.due_on is None:
        return Told(f"{status.due_miles} miles", None, step)
    return Told(status.due_on.isoformat(), status.due_on, step)


def told_of_unknown(since: date, on: date) -> Told:
    """The step of what has not been known from ``since`` on: minus the whole weeks since."""
    return Told(f"unknown {since}", None, -(max((on - since).days, 0) // DAYS_BETWEEN_MILD))


def told_of_reason(reason: OffRoadReason, on: date) -> Told:
    """The step of a reason to be off the road that is no due item: minus the days since it was found."""
    found_on = reason.since or on
    return Told(found_on.isoformat(), found_on, (found_on - on).days)


def is_due_item(reason: OffRoadReason) -> bool:
    """Whether a reason to be off the road is a due item, which has steps of its own."""
    return reason.name in DUE_KINDS


def _step_of_item(status: DueStatus, days_left: int | None, is_daily: bool) -> int | None:
    """A booking quiets the steps before the day; after it, it is told on the day on which it ran out, and weekly."""
    if days_left is None:
        return None
    is_booked = status.booked_for is not None
    if days_left >= 0:
        return None if is_booked and days_left else _step_before(days_left, DUE_KINDS[status.kind].notice_days)
    week = -(-days_left // DAYS_BETWEEN_MILD * DAYS_BETWEEN_MILD)
    if status.state is not State.OVERDUE:
        return week
    if is_booked:
        return week or (0 if status.is_by_rule else -1)
    return days_left if is_daily else week


def _step_before(days_left: int, notice_days: int) -> int | None:
    """What needs longer notice is told once more, and first, when its ``notice_days`` begin."""
    return min((step for step in (notice_days, *STEPS) if step >= days_left), default=None)
