"""Which due items need attention, and how urgent a car is on the board."""

from collections.abc import Iterable
from enum import StrEnum

from fleet.core.due import DueStatus, State

#: Shown whatever the filter: an overdue item, and one that nobody knows to be fine.
_ALWAYS = frozenset({State.OVERDUE, State.UNKNOWN})


class Urgency(StrEnum):
    """How urgent a car is, worst first. ``quiet`` means only that nothing is recorded against it."""

    OFF_THE_ROAD = "off_the_road"
    OVERDUE_OR_UNKNOWN = "overdue_or_unknown"
    DUE = "due"
    QUIET = "quiet"


def needs_attention(status: DueStatus, within: int | None = None) -> bool:
    """Whether an item is overdue, unknown or due: inside its notice time or, if given, ``within`` so many days.

    A booked item counts only with ``within``: its day comes all the same.
    """
    if status.state in _ALWAYS:
        return True
    if within is None:
        return status.state is State.DUE
    return status.days_left is not None and status.days_left <= within


def urgency_of(statuses: Iterable[DueStatus], *, off_the_road: bool) -> Urgency:
    """How urgent a car with these due items is."""
    if off_the_road:
        return Urgency.OFF_THE_ROAD
    states = {status.state for status in statuses}
    if states & _ALWAYS:
        return Urgency.OVERDUE_OR_UNKNOWN
    return Urgency.DUE if State.DUE in states else Urgency.QUIET
