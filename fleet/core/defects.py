"""How grave a defect is, and what follows from it."""

from datetime import date
from enum import StrEnum
from typing import NamedTuple


class Severity(StrEnum):
    """Worst first."""

    DANGEROUS = "dangerous"
    BEFORE_NEXT_LESSON = "before_next_lesson"
    WATCH = "watch"

    @property
    def stops_car(self) -> bool:
        """Whether a car with such a defect must not be used for lessons."""
        return self is not Severity.WATCH


class OpenDefect(NamedTuple):
    """A defect that is not closed; ``key`` is the row's id."""

    key: int
    severity: Severity
    words: str
    found_on: date


def comes_to_stop(before: Severity | None, after: Severity | None) -> bool:
    """Whether a defect newly stops its car, or stops it more gravely than before; None is for no open defect."""
    if after is None or not after.stops_car:
        return False
    order = list(Severity)
    return before is None or order.index(after) < order.index(before)
