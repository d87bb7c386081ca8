"""The miles of a period, and which of its days lie outside the readings."""

from collections.abc import Iterable
from datetime import date

from costing.core.periods import ONE_DAY
from costing.core.records import Fill, Period
from fleet.core.odometer import Odometer, Reading


class CarOdometer(Odometer):
    """One car's odometer, as its readings and fills show it."""

    def __init__(self, readings: Iterable[Reading], fills: Iterable[Fill]) -> None:
        super().__init__([*readings, *(Reading(fill.filled_on, fill.odometer) for fill in fills)])

    def miles(self, period: Period) -> int | None:
        """Return the miles run in ``period``; None without any reading."""
        if not self:
            return None
        return self.at(period.last) - self.at(period.first - ONE_DAY)

    def unread(self, needed: Period) -> tuple[date | None, date | None]:
        """Return the day of the first reading if a ``needed`` day is before it, and of the last if one is after it.

        The miles of a period need the days from the day before it to its last day. Each is None if nothing is missing
        on that side; without any reading both are None.
        """
        if not self:
            return None, None
        first, last = self.first_on, self.last_on
        return (first if needed.first < first else None), (last if needed.last > last else None)
