"""How fast a tyre wears, by a straight line of tread over miles, and when it reaches each limit."""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction
from itertools import pairwise
from typing import NamedTuple

from fleet.core.odometer import NoForecast, Odometer, Pace, pace_of
from fleet.core.tread import LEGAL_LEAST, PRACTICE_LEAST, Depth, Move, readings_of_tyre, stays_of_tyre

#: mm. A rise up to this may be the gauge; more means a different tyre or a slip. Our own choice, no source.
GAUGE_ERROR = Decimal("0.5")


class WearUnknown(StrEnum):
    """Why wear cannot be worked out."""

    NO_READINGS = "no_readings"
    ONE_READING = "one_reading"
    NO_MILES_KNOWN = "no_miles_known"
    NO_MILES_BETWEEN = "no_miles_between"
    RISING = "rising"
    NOT_FALLING = "not_falling"


class TreadState(StrEnum):
    """The state of a tyre by its tread, worst first; ``not_read`` is not fine, only unknown.

    ``read_again``: lawful when last read, but by its wear and the car's pace at the legal limit by now.
    """

    UNLAWFUL = "unlawful"
    READ_AGAIN = "read_again"
    LOW = "low"
    ABOVE = "above"
    NOT_READ = "not_read"


class TreadTrend(NamedTuple):
    """A straight line of tread over miles: ``slope`` in mm a mile, ``start`` the mm at no miles. Exact."""

    slope: Fraction
    start: Fraction

    def at(self, miles: int) -> Fraction:
        """Tread in mm at that odometer."""
        return self.start + self.slope * miles


class TreadPoint(NamedTuple):
    """A reading with the car's odometer at the end of its day."""

    miles: int
    depth: Depth


class TreadLimit(NamedTuple):
    """How far a tyre is from ``least`` mm of tread.

    ``is_below``: its last reading shows less. Otherwise ``miles`` are left by the line after the last reading of the
    odometer, 0 if it was there by then, and ``on`` is the day on which they are run, counted from that reading's;
    ``missing`` says why there is no day. ``is_reached``: by this it is there by now.
    """

    least: Decimal
    is_below: bool
    miles: int | None = None
    on: date | None = None
    missing: NoForecast | None = None
    is_reached: bool = False


@dataclass(frozen=True, slots=True)
class Wear:
    """The tyre at one wheel: its readings, oldest first, the line through them, and what is left.

    ``points`` are the readings whose miles are known, on which the line rests; ``missing`` says why there is no
    line. ``fitted_on`` is None where nobody wrote it down. ``miles_now`` is the odometer as last read; without a
    ``pace`` miles give no day.
    """

    wheel: str
    readings: tuple[Depth, ...]
    fitted_on: date | None
    points: tuple[TreadPoint, ...]
    line: TreadTrend | None
    missing: WearUnknown | None
    practice: TreadLimit
    legal: TreadLimit
    pace: Pace | None
    miles_now: int | None

    @property
    def latest(self) -> Depth | None:
        return self.readings[-1] if self.readings else None

    @property
    def state(self) -> TreadState:
        if self.legal.is_below:
            return TreadState.UNLAWFUL
        if self.legal.is_reached:
            return TreadState.READ_AGAIN
        if self.practice.is_below or self.practice.is_reached:
            return TreadState.LOW
        return TreadState.ABOVE if self.readings else TreadState.NOT_READ

    @property
    def rate(self) -> Fraction | None:
        """mm worn in 1,000 miles."""
        return -1000 * self.line.slope if self.line else None

    @property
    def without_miles_count(self) -> int:
        """How many readings are on days for which the odometer is not known."""
        return len(self.readings) - len(self.points)


def least_squares(points: Sequence[tuple[int, Decimal | Fraction]]) -> TreadTrend | None:
    """The straight line with the least sum of squared distances in depth; None unless miles differ."""
    count = len(points)
    sum_x, sum_y = sum(x for x, _ in points), sum((Fraction(y) for _, y in points), Fraction())
    spread = count * sum(x * x for x, _ in points) - sum_x * sum_x
    if not spread:
        return None
    slope = (count * sum((x * Fraction(y) for x, y in points), Fraction()) - sum_x * sum_y) / spread
    return TreadTrend(slope, (sum_y - slope * sum_x) / count)


def wear_of_tyre(wheel: str, depths: Collection[Depth], moves: Collection[Move], odometer: Odometer, on: date) -> Wear:
    """How the tyre at ``wheel`` wears by the readings up to ``on``; pass in none after that day."""
    readings = readings_of_tyre(wheel, depths, moves)
    first_stay = stays_of_tyre(wheel, moves)[-1]
    points = list(_with_miles(readings, odometer))
    line, missing = _falling_line(readings, points)
    pace = pace_of(odometer)
    is_below = {least: bool(readings) and readings[-1].lowest < least for least in (PRACTICE_LEAST, LEGAL_LEAST)}
    practice, legal = (
        TreadLimit(least, below) if below or line is None else _limit(least, line, pace, odometer, on)
        for least, below in is_below.items()
    )
    return Wear(
        wheel,
        tuple(readings),
        first_stay.since if first_stay.is_first else None,
        tuple(points),
        line,
        missing,
        practice,
        legal,
        pace if isinstance(pace, Pace) else None,
        odometer.at(odometer.last_on) if odometer else None,
    )


def _with_miles(readings: Iterable[Depth], odometer: Odometer) -> Iterable[TreadPoint]:
    if odometer:
        for depth in readings:
            if odometer.first_on <= depth.read_on <= odometer.last_on:
                yield TreadPoint(odometer.at(depth.read_on), depth)


def _falling_line(
    readings: Sequence[Depth], points: Sequence[TreadPoint]
) -> tuple[TreadTrend | None, WearUnknown | None]:
    """The line of wear, or why there is none: a tread never grows."""
    if len(readings) < 2:
        return None, WearUnknown.ONE_READING if readings else WearUnknown.NO_READINGS
    if any(after.lowest - before.lowest > GAUGE_ERROR for before, after in pairwise(readings)):
        return None, WearUnknown.RISING
    if len(points) < 2:
        return None, WearUnknown.NO_MILES_KNOWN
    line = least_squares([(point.miles, point.depth.lowest) for point in points])
    if line is None:
        return None, WearUnknown.NO_MILES_BETWEEN
    return (line, None) if line.slope < 0 else (None, WearUnknown.NOT_FALLING)


def _limit(least: Decimal, line: TreadTrend, pace: Pace | NoForecast, odometer: Odometer, on: date) -> TreadLimit:
    """How far a tyre with this line of wear is from a limit that its last reading had not passed."""
    last_on = odometer.last_on
    miles = max(0, (line.at(odometer.at(last_on)) - Fraction(least)) // -line.slope)
    if not miles:
        return TreadLimit(least, False, 0, last_on, is_reached=True)
    reached_on = pace.day_after(miles) if isinstance(pace, Pace) else pace
    if isinstance(reached_on, NoForecast):
        return TreadLimit(least, False, miles, missing=reached_on)
    return TreadLimit(least, False, miles, reached_on, is_reached=reached_on <= on)
