"""What is charged on the last day with a car: the rest of all that the member had paid ahead for it."""

from collections.abc import Iterator
from datetime import date
from typing import NamedTuple

from costing.core.ends import shifted
from costing.core.parts import parts
from costing.core.records import Cost, Period
from costing.core.spent import Spent
from costing.report import Together
from costing.statement.services.own import OwnBooks
from fleet.models import Car


class ChargedAtEnd(NamedTuple):
    """The ``pence`` that were left of covers on the last day of a member with a car."""

    car: Car
    day: date
    pence: int


def charged_at_ends(own: OwnBooks, found: Together) -> tuple[ChargedAtEnd, ...]:
    """Return what some figures hold of it, by car: nothing of a car whose last day with the member is another time."""
    return tuple(_at_ends(own, found))


def _at_ends(own: OwnBooks, found: Together) -> Iterator[ChargedAtEnd]:
    period = found.cost.period
    for report in found.reports:
        spent = own.uses[report.car.pk].spent
        if spent.times and period.first <= (last := spent.times[-1].last) <= period.last:
            pence = _left(spent, period, last)
            if pence:
                yield ChargedAtEnd(report.car, last, pence)


def _left(spent: Spent, period: Period, last: date) -> int:
    """What was left of covers on the last day; not of one that ended by itself, and nothing of what was paid later."""
    covers = [
        (record, shifted(total, period))
        for record, _, total in parts(spent, period)
        if total and isinstance(record, Cost) and (record.covers_from or record.covers_miles)
    ]
    return sum(moved.rest for cost, moved in covers if moved.ended_on == last != cost.ended_on)
