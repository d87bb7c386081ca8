"""The miles of a period, by the readings and the fills."""

from collections.abc import Iterable
from operator import attrgetter

from costing.core.periods import ONE_DAY
from costing.core.records import Fill, Period
from fleet.core.odometer import Odometer, Reading


class CarOdometer(Odometer):
    """One car's odometer, as its readings and fills show it."""

    def __init__(self, readings: Iterable[Reading], fills: Iterable[Fill]) -> None:
        super().__init__([*readings, *map(attrgetter("filled_on", "odometer"), fills)])

    def miles(self, period: Period) -> int | None:
        """Return the miles run in ``period``; None without any reading."""
        if not self:
            return None
        return self.at(period.last) - self.at(period.first - ONE_DAY)
