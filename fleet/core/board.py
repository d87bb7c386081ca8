"""The obligations of a car as the board lists them, how each stands, and which car is the worst."""

from collections.abc import Iterable
from decimal import Decimal
from enum import StrEnum
from typing import NamedTuple

from fleet.core.defects import OpenDefect
from fleet.core.due import DueStatus, State
from fleet.core.due_kinds import DUE_KINDS, DueKind
from fleet.core.points import NextCheck
from fleet.core.readiness import OffRoadReason, gravity
from fleet.core.tread import LEGAL_LEAST, PRACTICE_LEAST
from fleet.core.verdict import CarVerdict, Verdict

#: Shown whatever the filter: an overdue item, and one that nobody knows to be fine.
_ALWAYS = frozenset({State.OVERDUE, State.UNKNOWN})
#: The obligations of a car that are no due kinds.
CHECK, DEFECTS = "check", "defects"


class Urgency(StrEnum):
    """How one obligation of a car stands, or the car itself, worst first.

    ``off`` keeps the car off the road; ``later`` means only that nothing recorded is due yet.
    """

    OFF = "off"
    OVERDUE = "overdue"
    UNKNOWN = "unknown"
    DUE = "due"
    BOOKED = "booked"
    LATER = "later"


#: A car of which something is not known comes before one on which something is overdue that does not stop it.
_CARS_BY_URGENCY = (Urgency.OFF, Urgency.UNKNOWN, Urgency.OVERDUE, Urgency.DUE, Urgency.BOOKED, Urgency.LATER)


class Obligation(NamedTuple):
    """Something that is asked of every car, or of some.

    ``name`` is that of its due kind, ``check`` or ``defects``. ``column`` heads its column on the board; empty: it
    shares the last one with the others.
    """

    name: str
    words: str
    column: str


def _gravity(kind: DueKind) -> tuple[bool, bool, bool, int]:
    """Sort key of kinds, gravest first: MOT, insurance, what else stops a car, and all others as they are listed."""
    return not kind.stops_car, not kind.is_mot, not kind.confirms_tuition, list(DUE_KINDS).index(kind.name)


_KINDS = sorted((kind for kind in DUE_KINDS.values() if kind.belongs_to("car")), key=_gravity)

#: By name, in the order of the board's columns.
OBLIGATIONS: dict[str, Obligation] = {
    one.name: one
    for one in (
        *(Obligation(kind.name, kind.words, kind.column) for kind in _KINDS),
        Obligation(CHECK, "Walkaround check", "Check"),
        Obligation(DEFECTS, "Defects", ""),
    )
}
#: The obligation that the tread of the tyres belongs to.
TYRES = next(OBLIGATIONS[kind.name] for kind in _KINDS if kind.by_tread)

#: After all that have a day.
_NO_DAY = 10_000


def needs_attention(status: DueStatus, within: int | None = None) -> bool:
    """Whether an item is overdue, unknown or due: inside its notice time or, if given, ``within`` so many days.

    A booked item counts only with ``within``: its day comes all the same.
    """
    if status.state in _ALWAYS:
        return True
    if within is None:
        return status.state is State.DUE
    return status.days_left is not None and status.days_left <= within


def urgency_of(verdict: CarVerdict) -> Urgency:
    """How urgent a car is, by the verdict on it: that of its most pressing item; a defect to watch makes it due."""
    if verdict.verdict is Verdict.OFF_THE_ROAD:
        return Urgency.OFF
    if verdict.items:
        return Urgency(verdict.items[0].state.value)
    return Urgency.DUE if verdict.defects else Urgency.LATER


def urgency_of_tread(least: Decimal | None) -> Urgency:
    """How the tyres of a car stand by the least tread last read, in mm; None: none was ever read."""
    if least is None:
        return Urgency.UNKNOWN
    if least < LEGAL_LEAST:
        return Urgency.OFF
    return Urgency.DUE if least <= PRACTICE_LEAST else Urgency.LATER


def urgency_of_check(check: NextCheck) -> Urgency:
    """How the walkaround check of a car stands: common practice, so it is never overdue."""
    if check.days_since is None:
        return Urgency.UNKNOWN
    return Urgency.DUE if check.is_due else Urgency.LATER


def urgency_of_defects(defects: Iterable[OpenDefect]) -> Urgency:
    """How a car stands by its open defects."""
    severities = [defect.severity for defect in defects]
    if any(severity.stops_car for severity in severities):
        return Urgency.OFF
    return Urgency.DUE if severities else Urgency.LATER


def worst_first(
    urgency: Urgency, reasons: Iterable[OffRoadReason], statuses: Iterable[DueStatus]
) -> tuple[int, int, int]:
    """Sort key of cars: by urgency; then by the gravest reason or unknown item, or by the day of what is due."""
    if urgency is Urgency.OFF:
        gravest, since = min((gravity(one), one.since.toordinal() if one.since else 0) for one in reasons)
        return 0, gravest, since
    of_it = [status for status in statuses if status.state.value == urgency]
    if urgency is Urgency.UNKNOWN:
        return 1, min(list(OBLIGATIONS).index(status.kind) for status in of_it), 0
    days = (status.days_left for status in of_it if status.days_left is not None)
    return _CARS_BY_URGENCY.index(urgency), 0, min(days, default=_NO_DAY)
