"""The words for why a figure is missing, for which the core has only codes."""

from config import showing
from costing.core.missing import Missing, Reason

_REASONS = {
    Reason.NOT_IN_SERVICE: "not in service in this period",
    Reason.NO_READINGS: "no odometer reading",
    Reason.NO_READING_BEFORE: "no odometer reading before {day}",
    Reason.NO_READING_AFTER: "no odometer reading after {day}",
    Reason.COVER_WITHOUT_READINGS: "no odometer reading to share what was bought by the mile",
    Reason.NO_FILLS: "no fuel or charge logged",
    Reason.NO_AGREEMENT: "no agreement and no valuation, so the loss of value is left out",
    Reason.NO_VALUE: "no price and no valuation, so the loss of value is left out",
    Reason.NO_VALUE_BEFORE: "no valuation before {day}, so the loss of value until then is left out",
    Reason.NO_FINANCE_TERMS: "the agreement of {day} has no price or no payments, so its interest is left out",
    Reason.NO_HIRE_TERMS: "the agreement of {day} has no number of payments, so its rental is left out",
    Reason.NO_MILES: "no miles run",
    Reason.PRIVATE_ABOVE_MILES: "more private miles than miles",
    Reason.NO_TEACHING: "no lessons logged",
    Reason.NO_LESSONS: "no number of lessons logged",
    Reason.NO_LESSON_HOURS: "no lesson hours logged",
    Reason.NO_FULL_LITRES: "no two full tanks with every fill between them",
    Reason.NO_FULL_KWH: "no two full charges with every charge between them",
}


def missing(found: Missing) -> str:
    """Say why a figure is absent or partial, as in "no odometer reading after 3 March 2027"."""
    return _REASONS[found.reason].format(day=found.day and showing.day(found.day))
