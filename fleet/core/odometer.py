"""The miles a car had done by the end of any day, how fast it runs them up, and when it will reach more."""

from bisect import bisect_right
from collections.abc import Iterable
from datetime import date, timedelta
from typing import NamedTuple


class Reading(NamedTuple):
    """Miles shown on one day, from an odometer reading or a fill."""

    read_on: date
    miles: int


class Odometer:
    """One car's readings: the highest of a day, linear by day between two, whole miles by floor.

    Before the first reading the first one counts, after the last the last one: see ``first_on`` and ``last_on``.
    """

    def __init__(self, readings: Iterable[Reading]) -> None:
        highest: dict[date, int] = {}
        for read_on, miles in readings:
            highest[read_on] = max(miles, highest.get(read_on, 0))
        self._days = sorted(highest)
        self._miles = [highest[day] for day in self._days]

    def __bool__(self) -> bool:
        return bool(self._days)

    @property
    def first_on(self) -> date:
        return self._days[0]

    @property
    def last_on(self) -> date:
        return self._days[-1]

    def at(self, day: date) -> int:
        """Miles at the end of ``day``; IndexError if there is no reading at all."""
        after = bisect_right(self._days, day)
        if after == 0:
            return self._miles[0]
        if after == len(self._days):
            return self._miles[-1]
        before_on, after_on = self._days[after - 1], self._days[after]
        before, gained = self._miles[after - 1], self._miles[after] - self._miles[after - 1]
        return before + gained * (day - before_on).days // (after_on - before_on).days

    def until(self, day: date) -> "Odometer":
        """The readings up to ``day``: what was known of the car then."""
        known = bisect_right(self._days, day)
        return Odometer(map(Reading, self._days[:known], self._miles[:known]))

    def last_read_up_to(self, miles: int) -> date:
        """The last day on which a reading showed at most ``miles``; ``date.min`` if none did."""
        above = bisect_right(self._miles, miles)
        return self._days[above - 1] if above else date.min

    def last_day_up_to(self, miles: int) -> date:
        """The last day on which the car had done at most ``miles``; the last reading must be above it.

        It is the day before the first reading if that is already above ``miles``.
        """
        above = bisect_right(self._miles, miles)
        if above == 0:
            return self.first_on - timedelta(days=1)
        before_on, before = self._days[above - 1], self._miles[above - 1]
        span, gained = (self._days[above] - before_on).days, self._miles[above] - before
        return before_on + timedelta(days=((miles - before + 1) * span - 1) // gained)


#: A forecast rests on the miles of this many days.
FORECAST_DAYS = 90


class Pace(NamedTuple):
    """Miles run in the last ``days`` days: 90, or as many as there are readings for."""

    miles: int
    days: int
    last_read_on: date

    def day_after(self, on: date, miles: int) -> date | None:
        """The day by which ``miles`` more are run after ``on``; None beyond the calendar.

        ZeroDivisionError if no miles were run.
        """
        ahead = -(-miles * self.days // self.miles)  # rounded up to the whole day
        return on + timedelta(days=ahead) if ahead <= (date.max - on).days else None


def pace_of(odometer: Odometer, on: date) -> Pace:
    """The pace up to ``on``; the odometer must hold a reading, and none after that day."""
    since = max(on - timedelta(days=FORECAST_DAYS), odometer.first_on)
    return Pace(odometer.at(on) - odometer.at(since), (on - since).days, odometer.last_on)
