"""Words that several pages share: why a figure is missing, for which the core has only codes; and of fills."""

from collections.abc import Collection
from typing import NamedTuple

from config import showing
from costing.core.missing import Missing, Reason
from fleet.models import FuelKind

_REASONS = {
    Reason.NOT_IN_SERVICE: "the car was not in service then",
    Reason.NO_READINGS: "no odometer reading",
    Reason.NO_READING_BEFORE: "no odometer reading before {day}",
    Reason.NO_READING_AFTER: "no odometer reading after {day}",
    Reason.COVER_WITHOUT_READINGS: "no odometer reading to share what was bought by the mile",
    Reason.NO_FILLS: "no fuel or charge logged",
    Reason.NO_FILL_BEFORE: "no fuel or charge logged before {day}",
    Reason.NO_FILL_AFTER: "no fuel or charge logged after {day}",
    Reason.NO_AGREEMENT: "no agreement and no valuation, so the loss of value is left out",
    Reason.NO_AGREEMENT_BEFORE: "no agreement and no valuation before {day}, so what it cost to hold it is left out",
    Reason.NO_VALUE: "no price and no valuation, so the loss of value is left out",
    Reason.NO_VALUE_BEFORE: "no valuation before {day}, so the loss of value until then is left out",
    Reason.NO_FINANCE_TERMS: "the agreement of {day} has no price or no payments, so its interest is left out",
    Reason.NO_HIRE_TERMS: "the agreement of {day} has no number of payments, so its rental is left out",
    Reason.NO_MILES: "no miles run",
    Reason.PRIVATE_ABOVE_MILES: "more private miles than miles",
    Reason.NO_TEACHING: "no lessons logged",
    Reason.NO_LESSONS_BEFORE: "no lessons logged before {day}",
    Reason.NO_LESSONS_AFTER: "no lessons logged after {day}",
    Reason.DAYS_WITHOUT_LESSONS: "more than a week without a lesson record from {day} counts as days without lessons",
    Reason.LESSONS_UNTOLD: "the number of lessons from {day} was not entered",
    Reason.HOURS_UNTOLD: "the lesson hours from {day} were not entered",
    Reason.PRIVATE_MILES_UNTOLD: "the private miles from {day} were not entered",
    Reason.LESSONS_OUT_OF_SERVICE: "lessons from {day} were given while the car was not in service, and are left out",
    Reason.LESSONS_BY_ANOTHER: "lessons from {day} were given by somebody who did not keep the car, and are left out",
    Reason.LESSONS_ELSEWHERE: "lessons from {day} were given in a car that was not yours then, and are left out",
    Reason.NO_LESSONS_THEN: "no lessons in this period",
    Reason.NO_LESSONS: "no number of lessons logged",
    Reason.NO_LESSON_HOURS: "no lesson hours logged",
    Reason.BORROWED: "only borrowed in this period",
    Reason.NO_FULL_LITRES: "no miles between two full tanks with every fill between them",
    Reason.NO_FULL_KWH: "no miles between two full charges with every charge between them",
}


def missing(found: Missing) -> str:
    """Say why a figure is absent or partial, as in "no odometer reading after 3 March 2027"."""
    return _REASONS[found.reason].format(day=found.day and showing.day(found.day))


class FillWords(NamedTuple):
    """What a fill is called: what goes in, by which unit and price, and what is said of a full one and of a gap."""

    what: str
    units: str
    price: str
    brimmed: str
    about: str
    gap: str
    is_of_both: bool = False


_FILLED = FillWords(
    "Fuel",
    "litres",
    "p a litre",
    "Brimmed",
    "Miles per gallon are worked out from one full tank to the next.",
    "A fill before this one is not in the book",
)
_CHARGED = FillWords(
    "Charge",
    "kWh",
    "p a kWh",
    "Charged as full as you usually charge it",
    "Miles per kWh are worked out from one full charge to the next.",
    "A charge before this one is not in the book",
)
_EITHER = FillWords(
    "Fuel or charge",
    "litres or kWh",
    "p for one",
    "Filled or charged as full as it goes",
    "Economy is worked out from one full tank, or full charge, to the next.",
    "A fill before this one is not in the book",
    is_of_both=True,
)


def fill_words(fuels: Collection[str]) -> FillWords:
    """Return the words for cars of these fuels."""
    if set(fuels) == {FuelKind.ELECTRIC}:
        return _CHARGED
    return _EITHER if {FuelKind.ELECTRIC, FuelKind.PLUGIN_HYBRID} & set(fuels) else _FILLED
