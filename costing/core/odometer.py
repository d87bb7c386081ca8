"""The miles of a period, and which of its days no reading tells of."""

from collections.abc import Iterable
from datetime import date

from costing.core.periods import ONE_DAY
from costing.core.records import Fill, Period
from fleet.core import odometer
from fleet.core.odometer import Reading


class Odometer(odometer.Odometer):
    """One car's odometer as its readings and its fills show it."""

    def __init__(self, readings: Iterable[Reading], fills: Iterable[Fill]) -> None:
        super().__init__([*readings, *(Reading(fill.filled_on, fill.odometer) for fill in fills)])

    def miles(self, period: Period) -> int | None:
        """Return the miles run in ``period``, None when there is no reading at all."""
        if not self:
            return None
        return self.at(period.last) - self.at(period.first - ONE_DAY)

    def unread(self, needed: Period) -> tuple[date | None, date | None]:
        """Say which part of the days whose reading is ``needed`` lies outside the readings.

        For the miles of a period the needed days are from the day before it to its last. Returns
        the day of the first reading if some needed day is before it, and the day of the last one
        if some is after it; None where nothing is missing. Without any reading both are None.
        """
        if not self:
            return None, None
        first, last = self.first_on, self.last_on
        return (first if needed.first < first else None), (last if needed.last > last else None)
