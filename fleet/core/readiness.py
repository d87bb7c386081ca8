"""Why a car must not be used for lessons now, worst first."""

from collections.abc import Iterable
from datetime import date
from typing import NamedTuple

from fleet.core.defects import OpenDefect, PutRight, Severity
from fleet.core.due import NO_DOUBTS, Doubts, DueStatus, State
from fleet.core.due_kinds import BY_GRAVITY
from fleet.core.tread import Depth

#: Reasons that are neither a due kind nor the severity of a defect. The first: insurance that leaves out tuition.
NO_TUITION_COVER = "cover"
TREAD = "tread"


class OffRoadReason(NamedTuple):
    """Why a car must not be used for lessons.

    ``name`` is a kind of due item, the severity of a defect, ``cover`` or ``tread``; ``about`` is what is wrong in the
    words of whoever reported it, or the wheel; ``since`` the day from which it is known, for a due item its last good
    day; ``defect`` the defect's key. ``is_by_rule``: none was ever recorded, and ``since`` is the day from which the
    law asks for one. ``booked_for`` is the day, still to come, on which it is to be put right; ``put_right`` what is
    said to have been done about a defect that waits for a second member.
    """

    name: str
    about: str = ""
    since: date | None = None
    defect: int | None = None
    is_by_rule: bool = False
    booked_for: date | None = None
    put_right: PutRight | None = None


class Condition(NamedTuple):
    """What is recorded about a car besides its due items.

    ``no_tuition_cover_on`` is the day on which the insurance was found not to cover tuition, if it was; ``doubts`` say
    why what is recorded of insurance or tax may not hold for whoever keeps the car now. ``tread_read_on`` is the day on
    which the wheel that was left longest was last read or got a new tyre; None if none was ever read, or nobody asked.
    """

    defects: tuple[OpenDefect, ...] = ()
    unlawful_treads: tuple[Depth, ...] = ()
    no_tuition_cover_on: date | None = None
    doubts: Doubts = NO_DOUBTS
    tread_read_on: date | None = None


NOTHING_WRONG = Condition()


_GRAVEST_FIRST = (
    Severity.DANGEROUS.value,
    TREAD,
    *(kind.name for kind in BY_GRAVITY if kind.stops_car),
    NO_TUITION_COVER,
    Severity.BEFORE_NEXT_LESSON.value,
)


def gravity(reason: OffRoadReason) -> tuple[int, int, int]:
    """Sort key of reasons, worst first: life before the law, the law before what lessons need; then the oldest."""
    since = reason.since.toordinal() if reason.since else 0
    return _GRAVEST_FIRST.index(reason.name), since, reason.defect or 0


def off_the_road_reasons(
    statuses: Iterable[DueStatus], condition: Condition = NOTHING_WRONG
) -> tuple[OffRoadReason, ...]:
    """Why the car must not be used for lessons, worst first; empty if nothing recorded says so.

    Unknown is not a reason: no record says that the cover has ended, and the verdict is then that it is not known.
    """
    reasons = [
        OffRoadReason(
            defect.severity.value, defect.description, defect.found_on, defect.key, put_right=defect.put_right
        )
        for defect in condition.defects
        if defect.severity.stops_car
    ]
    reasons += [OffRoadReason(TREAD, depth.wheel, depth.read_on) for depth in condition.unlawful_treads]
    reasons += [
        OffRoadReason(
            status.kind, since=status.governing_on, is_by_rule=status.is_by_rule, booked_for=status.booked_for
        )
        for status in statuses
        if status.state is State.OVERDUE and status.kind in _GRAVEST_FIRST
    ]
    if condition.no_tuition_cover_on is not None:
        reasons.append(OffRoadReason(NO_TUITION_COVER, since=condition.no_tuition_cover_on))
    return tuple(sorted(reasons, key=gravity))
