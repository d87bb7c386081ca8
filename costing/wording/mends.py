"""What to do so that an absent figure is known: one tap for each reason that one entry takes away."""

from enum import StrEnum
from typing import NamedTuple

from django.urls import reverse

from costing import wording
from costing.core.missing import Missing, Reason
from costing.core.running_cost import RunningCost
from fleet.models import Car


class MendOf(StrEnum):
    """What the page is of that mends a figure: nothing of its own, one car, or the one record that leaves it untold."""

    BOOK = "book"
    CAR = "car"
    RECORD = "record"


class Mend(NamedTuple):
    """What to do so that an absent figure is known: words, the name of its page with a place on it, and of what."""

    words: str
    page: str
    of: MendOf
    place: str = ""


_READ = Mend("Read the odometer", "fleet:odometer-add", MendOf.CAR)
_FIRST_FILL = Mend("Log your first fill", "costing:fill-log", MendOf.BOOK)
_FILL = Mend("Log the last fill", "costing:fill-log", MendOf.BOOK)
_TEACH = Mend("Log your lessons", "costing:teaching-log", MendOf.BOOK)
_HOLD = Mend("Say how you hold it", "costing:agreement-add", MendOf.CAR)
_VALUE = Mend("Say what it is worth", "costing:valuation-add", MendOf.CAR)
_TERMS = Mend("See the agreement", "costing:car-cost", MendOf.CAR, "#held")
_CORRECT = Mend("Correct that record", "costing:entry-correct", MendOf.RECORD)
#: What gives an absent figure, for the reasons that one entry takes away. The first of a period's is the one to do.
_MENDS = {
    Reason.NO_READINGS: _READ,
    Reason.NO_READING_AFTER: _READ,
    Reason.COVER_WITHOUT_READINGS: _READ,
    Reason.NO_FILLS: _FIRST_FILL,
    Reason.NO_FILL_AFTER: _FILL,
    Reason.NO_TEACHING: _TEACH,
    Reason.NO_LESSONS_AFTER: _TEACH,
    Reason.NO_AGREEMENT: _HOLD,
    Reason.NO_AGREEMENT_BEFORE: _HOLD,
    Reason.NO_VALUE: _VALUE,
    Reason.NO_VALUE_BEFORE: _VALUE,
    Reason.NO_FINANCE_TERMS: _TERMS,
    Reason.NO_HIRE_TERMS: _TERMS,
    Reason.LESSONS_UNTOLD: _CORRECT,
    Reason.HOURS_UNTOLD: _CORRECT,
    Reason.PRIVATE_MILES_UNTOLD: _CORRECT,
    Reason.LESSONS_OUT_OF_SERVICE: _CORRECT,
    Reason.LESSONS_ELSEWHERE: _CORRECT,
}


class ToLog(NamedTuple):
    """What to do so that a figure is known: of which car, for which reason, and in which record if it lies in one."""

    mend: Mend
    car: Car
    found: Missing
    record: int | None = None

    @property
    def address(self) -> str:
        """The address of its page."""
        args: dict[MendOf, list[str | int | None]] = {
            MendOf.BOOK: [],
            MendOf.CAR: [self.car.registration],
            MendOf.RECORD: ["lessons", self.record],
        }
        return f"{reverse(self.mend.page, args=args[self.mend.of])}{self.mend.place}"

    @property
    def why(self) -> str:
        """The reason, in words."""
        return wording.missing(self.found)


def ways_to_log(found: Missing, cost: RunningCost, car: Car) -> list[ToLog]:
    """Return what to do to take a reason of a car's ``cost`` away: one thing, or one for each record; else nothing."""
    mend = _MENDS.get(found.reason)
    if mend is None:
        return []
    if mend.of is not MendOf.RECORD:
        return [ToLog(mend, car, found)]
    keys = (one.key for one in cost.of_records if one.missing == found)
    return [ToLog(mend, car, found, key) for key in keys if key is not None]
