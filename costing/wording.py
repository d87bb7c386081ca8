"""The words for what the core only codes: categories, where a figure comes from, why one is missing."""

from config import showing
from costing.core.missing import Missing, Reason
from costing.models import CostCategory

#: How each component of the true cost is made, in a sentence, for those who ask where a figure comes from.
SOURCES = {
    "fuel": "Each fill pays for the days since the fill before it.",
    "interest": "The interest part of each instalment, over the days from one due day to the next.",
    "depreciation": "What the car lost in value between its price and each valuation, by days.",
    "rental": "Each rental payment over its own month or week; an initial rental over the whole term.",
    "insurance": "Each premium over the days it covers.",
    "vehicle_tax": "Each payment over the days it covers.",
    "breakdown_cover": "Each payment over the days it covers.",
    "tyres": "Each set over the miles it is bought to last.",
}
_OTHER_SOURCE = "Charged on the day it was paid, or over the days or miles it covers."

_CATEGORY_LABELS = {
    **dict(CostCategory.choices),
    "fuel": "Fuel and charging",
    "interest": "Finance interest",
    "depreciation": "Loss of value",
    "rental": "Rental",
}

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


def category(name: str) -> str:
    """The label of a cost category or component."""
    return _CATEGORY_LABELS[name]


def source(name: str) -> str:
    """One sentence on how a component of the true cost is made."""
    return SOURCES.get(name, _OTHER_SOURCE)


def missing(found: Missing) -> str:
    """Why a figure is absent or partial, as "no odometer reading after 3 March 2027"."""
    return _REASONS[found.reason].format(day=found.day and showing.day(found.day))
