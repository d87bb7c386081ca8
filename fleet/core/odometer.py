"""The miles a car had done by the end of any day, how fast it runs them up, and when it will reach more."""

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from enum import StrEnum
from typing import NamedTuple


class Reading(NamedTuple):
    """Miles shown on one day, from an odometer reading or a fill."""

    read_on: date
    miles: int


class Odometer:
    """One car's readings: the highest of a day, linear by day between two, whole miles by floor.

    Before the first reading the first one counts, after the last the last one: see ``first_on`` and ``last_on``.
    """

    def __init__(self, readings: Iterable[tuple[date, int]]) -> None:
        # Of each day, the last one in order is the highest.
        highest = dict(sorted(readings))
        self._days, self._miles = list(highest), list(highest.values())

    def __bool__(self) -> bool:
        return bool(self._days)

    @property
    def days(self) -> Sequence[date]:
        """The days with a reading, oldest first."""
        return self._days

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


#: The pace of a car is taken from about so many days before its last reading, and from so many at the least.
PACE_DAYS, LEAST_PACE_DAYS = 90, 14


class NoForecast(StrEnum):
    """Why the day on which a mileage is reached cannot be foretold."""

    NO_READINGS = "no_readings"
    ONE_READING = "one_reading"
    READINGS_TOO_CLOSE = "readings_too_close"
    NO_MILES_RUN = "no_miles_run"
    TOO_FAR_AHEAD = "too_far_ahead"


class Pace(NamedTuple):
    """Miles run in the ``days`` days that end with the last reading."""

    miles: int
    days: int
    last_read_on: date

    def day_after(self, miles: int) -> date | NoForecast:
        """The day by which ``miles`` more are run than the last reading shows, counted from the day of that reading.

        Days without a reading are not days without miles, so the day may be past.
        """
        ahead = -(-miles * self.days // self.miles)  # rounded up to the whole day
        if ahead > (date.max - self.last_read_on).days:
            return NoForecast.TOO_FAR_AHEAD
        return self.last_read_on + timedelta(days=ahead)


def pace_of(odometer: Odometer) -> Pace | NoForecast:
    """The pace of a car, from its last reading and the one nearest 90 days before that, or why it has none.

    Of two as near, the earlier counts. Pass in the readings up to the day asked for: see ``Odometer.until``.
    """
    if not odometer:
        return NoForecast.NO_READINGS
    last_on, wanted = odometer.last_on, odometer.last_on - timedelta(days=PACE_DAYS)
    since = min(odometer.days[:-1], key=lambda day: (abs((day - wanted).days), day), default=None)
    if since is None:
        return NoForecast.ONE_READING
    if (last_on - since).days < LEAST_PACE_DAYS:
        return NoForecast.READINGS_TOO_CLOSE
    miles = odometer.at(last_on) - odometer.at(since)
    return Pace(miles, (last_on - since).days, last_on) if miles else NoForecast.NO_MILES_RUN
