"""The obligations of a car as the board lists them, and how each stands."""

from collections.abc import Iterable
from decimal import Decimal
from enum import StrEnum
from typing import NamedTuple

from fleet.core.defects import OpenDefect
from fleet.core.due import DueStatus, State
from fleet.core.due_kinds import BY_GRAVITY
from fleet.core.points import NextCheck
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


#: How a car itself stands: by the verdict on it. What is overdue without stopping it is a matter of that item.
_BY_VERDICT = {
    Verdict.OFF_THE_ROAD: Urgency.OFF,
    Verdict.NOT_KNOWN: Urgency.UNKNOWN,
    Verdict.DUE: Urgency.DUE,
    Verdict.NOTHING_AGAINST: Urgency.LATER,
}
#: The urgencies of cars, worst first.
OF_CARS = tuple(_BY_VERDICT.values())


class Obligation(NamedTuple):
    """Something that is asked of every car, or of some.

    ``name`` is that of its due kind, ``check`` or ``defects``. ``column`` heads its column on the board; empty: it
    shares the last one with the others.
    """

    name: str
    words: str
    column: str


_KINDS = [kind for kind in BY_GRAVITY if kind.belongs_to("car")]

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
    """How urgent a car is, by the verdict on it."""
    return _BY_VERDICT[verdict.verdict]


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
