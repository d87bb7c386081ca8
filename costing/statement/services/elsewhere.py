"""Lessons that a member taught in cars which they never kept: of those they kept once, the figures name them."""

from typing import NamedTuple

from costing.core.keeping import minutes_in
from costing.core.periods import overlap
from costing.core.records import Period
from costing.statement.services.own import OwnBooks
from fleet.models import Car


class TaughtElsewhere(NamedTuple):
    """The ``minutes`` taught in such ``cars``, by registration; None if those of a record are not told."""

    minutes: int | None
    cars: tuple[Car, ...]


def taught_elsewhere(own: OwnBooks, period: Period) -> TaughtElsewhere | None:
    """Return what a member taught so in a period; None if nothing, or if the books are of one car alone."""
    lessons = [one for one in own.never_kept if overlap(Period(one.from_on, one.to_on), period)]
    minutes = minutes_in(lessons, [period])
    if minutes == 0:
        return None
    taught_in = {one.car for one in lessons}
    return TaughtElsewhere(minutes, tuple(car for car in own.cars_never_kept if car.pk in taught_in))
