"""Whether a car may be used for lessons now."""

from collections.abc import Iterable

from fleet.core.due import DueStatus, State
from fleet.core.kinds import KINDS


def off_the_road_reasons(statuses: Iterable[DueStatus]) -> tuple[str, ...]:
    """Why the car must not be used for lessons, as names of kinds in their usual order; empty if it may be.

    Unknown is not a reason: nobody has said that the cover has ended, and the list of due items shows it.
    """
    overdue = {status.kind for status in statuses if status.state is State.OVERDUE}
    return tuple(name for name, kind in KINDS.items() if kind.stops_car and name in overdue)
