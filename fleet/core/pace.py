"""How fast a car runs up miles, and the day on which more of them will be done."""

from datetime import date, timedelta
from typing import NamedTuple

from fleet.core.odometer import Odometer

#: A mileage is turned into a day by the miles of this many days past.
FORECAST_DAYS = 90


class Pace(NamedTuple):
    """Miles run in the last ``days`` days: 90, or as many as there are readings for."""

    miles: int
    days: int
    last_read_on: date

    def day_after(self, on: date, miles: int) -> date | None:
        """The day by whose end ``miles`` more are run after ``on``; None beyond the calendar.

        ZeroDivisionError if no miles were run.
        """
        ahead = -(-miles * self.days // self.miles)  # rounded up to the whole day
        return on + timedelta(days=ahead) if ahead <= (date.max - on).days else None


def pace_of(odometer: Odometer, on: date) -> Pace:
    """The pace up to ``on``; readings after that day must not be in the odometer, and one must be."""
    since = max(on - timedelta(days=FORECAST_DAYS), odometer.first_on)
    return Pace(odometer.at(on) - odometer.at(since), (on - since).days, odometer.last_on)
