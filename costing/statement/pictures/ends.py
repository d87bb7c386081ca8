"""What is charged on the last day with a car, in sentences."""

from config.showing import day, pence_as_pounds
from costing.statement.report import Statement
from costing.statement.services.ends import ChargedAtEnd
from costing.statement.services.moved import WhyMoved
from fleet.core.registration import show


def ends_of(statement: Statement) -> list[str]:
    """What of a statement's true cost it is, in a sentence for each car."""
    return [f"{_charged(one)}: {pence_as_pounds(one.pence)}." for one in statement.ends]


def ends_moved(why: WhyMoved) -> list[str]:
    """What of either lesson hour it is, that of the period first."""
    return [
        f"{_charged(one.end)}: {pence_as_pounds(one.an_hour)} of {'this' if one.is_now else 'that'} lesson hour."
        for one in why.ends
    ]


def _charged(end: ChargedAtEnd) -> str:
    last = "its last day in service" if end.day == end.car.in_service_to else "your last day with it"
    return f"The rest of what you had paid ahead for {show(end.car.registration)} is charged on {last}, {day(end.day)}"
