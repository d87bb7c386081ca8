"""The verdict on a car for lessons: what is recorded against it, worst first, and nothing else."""

from collections.abc import Iterable, Sequence
from enum import StrEnum
from typing import NamedTuple

from fleet.core.defects import OpenDefect
from fleet.core.due import DueStatus, State, by_urgency
from fleet.core.readiness import Condition, OffRoadReason


class Verdict(StrEnum):
    """Worst first. ``nothing_against`` means only that nothing is recorded against the car."""

    OFF_THE_ROAD = "off_the_road"
    NOT_KNOWN = "not_known"
    DUE = "due"
    NOTHING_AGAINST = "nothing_against"


class CarVerdict(NamedTuple):
    """The verdict, and what it rests on: reasons, else due items, else defects to keep an eye on.

    ``items`` are all that are not known, or the one that is most pressing.
    """

    verdict: Verdict
    reasons: tuple[OffRoadReason, ...] = ()
    items: tuple[DueStatus, ...] = ()
    defects: tuple[OpenDefect, ...] = ()


def verdict_of(statuses: Iterable[DueStatus], reasons: Sequence[OffRoadReason], condition: Condition) -> CarVerdict:
    """The verdict on a car with these due items, reasons to be off the road (worst first) and condition.

    What is not known comes before what is overdue without stopping the car: the book cannot say that it may be used.
    """
    if reasons:
        return CarVerdict(Verdict.OFF_THE_ROAD, reasons=tuple(reasons))
    pressing = sorted((status for status in statuses if status.state is not State.LATER), key=by_urgency)
    if unknown := tuple(status for status in pressing if status.state is State.UNKNOWN):
        return CarVerdict(Verdict.NOT_KNOWN, items=unknown)
    if pressing:
        return CarVerdict(Verdict.DUE, items=(pressing[0],))
    if condition.defects:
        return CarVerdict(Verdict.DUE, defects=condition.defects)
    return CarVerdict(Verdict.NOTHING_AGAINST)
