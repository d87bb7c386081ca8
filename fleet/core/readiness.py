"""Whether a car may be used for lessons now."""

from collections.abc import Iterable
from datetime import date
from typing import NamedTuple

from fleet.core.defects import OpenDefect, PutRight, Severity
from fleet.core.due import DueStatus, State
from fleet.core.due_kinds import DUE_KINDS
from fleet.core.tread import Depth

#: Reasons that are neither a due kind nor the severity of a defect.
NO_TUITION_COVER = "insurance_without_tuition"
TREAD = "tread"


class OffRoadReason(NamedTuple):
    """Why a car must not be used for lessons.

    ``name`` is a kind of due item, the severity of a defect, ``insurance_without_tuition`` or ``tread``;
    ``about`` is what is wrong in the words of whoever reported it, or the wheel; ``since`` the day from which it
    is known, for a due item its last good day; ``defect`` the defect's key, and ``put_right`` what is said to have been
    done about it, if it waits for a second member.
    """

    name: str
    about: str = ""
    since: date | None = None
    defect: int | None = None
    put_right: PutRight | None = None


class Condition(NamedTuple):
    """What is recorded about a car besides its due items.

    ``no_tuition_cover_on`` is the day on which the insurance was found not to cover tuition, if it was.
    """

    defects: tuple[OpenDefect, ...] = ()
    unlawful_treads: tuple[Depth, ...] = ()
    no_tuition_cover_on: date | None = None


NOTHING_WRONG = Condition()


_STOPPING = [kind for kind in DUE_KINDS.values() if kind.stops_car]
_GRAVEST_FIRST = (
    Severity.DANGEROUS.value,
    TREAD,
    *(kind.name for kind in sorted(_STOPPING, key=lambda kind: (not kind.is_mot, not kind.confirms_tuition))),
    NO_TUITION_COVER,
    Severity.BEFORE_NEXT_LESSON.value,
)


def gravity(reason: OffRoadReason) -> int:
    """Sort key of reasons, gravest first: what endangers life, then what the law forbids, then what lessons need."""
    return _GRAVEST_FIRST.index(reason.name)


def off_the_road_reasons(
    statuses: Iterable[DueStatus], condition: Condition = NOTHING_WRONG
) -> tuple[OffRoadReason, ...]:
    """Why the car must not be used for lessons, in a settled order; empty if nothing recorded says so.

    Unknown is not a reason: no record says that the cover has ended, and the list of due items shows it.
    """
    stopping = sorted(
        (defect for defect in condition.defects if defect.severity.stops_car),
        key=lambda defect: (list(Severity).index(defect.severity), defect.found_on, defect.key),
    )
    reasons = [
        OffRoadReason(defect.severity.value, defect.description, defect.found_on, defect.key, defect.put_right)
        for defect in stopping
    ]
    reasons += [OffRoadReason(TREAD, depth.wheel, depth.read_on) for depth in condition.unlawful_treads]
    overdue = {status.kind: status for status in statuses if status.state is State.OVERDUE}
    reasons += [
        OffRoadReason(name, since=overdue[name].governing_on)
        for name, kind in DUE_KINDS.items()
        if kind.stops_car and name in overdue
    ]
    if condition.no_tuition_cover_on is not None:
        reasons.append(OffRoadReason(NO_TUITION_COVER, since=condition.no_tuition_cover_on))
    return tuple(reasons)
