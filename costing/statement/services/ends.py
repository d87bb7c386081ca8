"""What is charged on the last day with a car: the rest of all that the member had paid ahead for it."""

from collections.abc import Iterator
from datetime import date
from typing import NamedTuple

from costing.core.ends import shifted
from costing.core.keeping import own_times
from costing.core.parts import parts
from costing.core.records import CarBook, Cost, Period
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
        book = own.books[report.car.pk]
        times = own_times(book)
        if times and period.first <= (last := times[-1].period.last) <= period.last:
            pence = _left(book, period, last)
            if pence:
                yield ChargedAtEnd(report.car, last, pence)


def _left(book: CarBook, period: Period, last: date) -> int:
    """What was left of covers on the last day; not of one that ended by itself, and nothing of what was paid later."""
    covers = [
        (part.record, shifted(part.total, period))
        for part in parts(book, period)
        if isinstance(part.record, Cost) and (part.record.covers_from or part.record.covers_miles)
    ]
    return sum(moved.rest for cost, moved in covers if moved.ended_on == last != cost.ended_on)
