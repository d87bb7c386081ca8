"""Whether an odometer can have shown so many miles on a day: it never falls, and a car runs so far a day at most."""

from bisect import bisect_left
from collections import deque
from collections.abc import Iterable, Iterator
from datetime import date
from typing import Any

from fleet.core.odometer import Reading
from fleet.core.plausible.checks import FAR, Candidate, Check
from fleet.core.plausible.doubt import Limits, Typed
from fleet.core.plausible.scatter import usual_range
from fleet.core.plausible.slips import DIGIT, NEIGHBOUR, undone

#: So many days with a reading are looked at, the last ones.
MOST_READINGS = 60
#: Miles on a long day out, which any car has now and then. Common practice, no source.
LONG_DAY = 450
#: Miles a day that nobody drives for days on end: eight hours at the 60 mph of a single carriageway.
MOST_A_DAY = 480
#: Miles that hardly any tuition car ever shows, where nothing else is known of it. Common practice, no source.
_MOST_EVER = 300_000
#: A trip meter is set back with the tank: more than this is no trip.
_MOST_ON_A_TRIP = 1_500


class Shown:
    """What one car's odometer has shown: the last days with a reading, each with its most miles."""

    def __init__(self, readings: Iterable[Reading] = ()) -> None:
        self._days = deque[Reading](maxlen=MOST_READINGS)
        #: Tenths of miles a day between each two of them: all that was run, and what is above a long day out.
        self._paces = deque[tuple[int, int]](maxlen=MOST_READINGS - 1)
        self._limits: Limits | None = None
        for reading in sorted(readings):
            self._append(reading)

    def read(self, reading: Reading) -> None:
        """Take in one more. Little is to be done for one after all others, and as a rule they come day by day."""
        self._limits = None
        if not self._days or reading >= self._days[-1]:
            self._append(reading)
            return
        known = sorted([*self._days, reading])
        self._days.clear()
        self._paces.clear()
        for one in known:
            self._append(one)

    def _append(self, reading: Reading) -> None:
        if self._days and reading.read_on == self._days[-1].read_on:
            self._days.pop()
            if self._paces:
                self._paces.pop()
        if self._days:
            before_on, before = self._days[-1]
            days, ran = (reading.read_on - before_on).days, reading.miles - before
            self._paces.append((10 * ran // days, 10 * (ran - LONG_DAY) // days))
        self._days.append(reading)

    def limits(self) -> Limits:
        """The readings as [day, miles], and the tenths of miles a day that the car runs, usually and at the most."""
        if self._limits is None:
            self._limits = self._made()
        return self._limits

    def _made(self) -> Limits:
        usual = usual_range([pace for pace, _ in self._paces], floor_percent=150)
        most, middle = 10 * MOST_A_DAY, 0
        if usual:
            beyond = max([above for _, above in self._paces])
            most, middle = min(most, max(usual.high, beyond * 6 // 5)), usual.middle
        readings = [[read_on.isoformat(), miles] for read_on, miles in self._days]
        return {"readings": readings, "tenths_a_day": middle, "most_tenths": most}


def limits(readings: Iterable[Reading]) -> Limits:
    """What one car's readings allow, in any order."""
    return Shown(readings).limits()


def checks(typed: Typed, limits: Limits, field: str, day_field: str) -> Iterator[Check]:
    """The checks of a reading in ``field`` on the day in ``day_field``."""
    miles, day = typed[field], typed[day_field]
    before, after = neighbours(limits, day)
    rests_on = (field, day_field)
    same = _same(limits, day)
    if same is not None:
        of_day = {"last": same[1], "day": day}
        # Readings of a day may come in any order; none is further back than a car runs in it.
        yield Check(field, "odometer_day", miles - same[1], -MOST_A_DAY, 0, FAR, rests_on, of_day, False)
    if before is None:
        yield Check(field, "odometer_most", miles, 0, _MOST_EVER // 6, _MOST_EVER, (field,), {"miles": miles})
    else:
        days = days_between(before[0], day)
        expected = limits["tenths_a_day"] * days // 10
        since = {"miles": miles - before[1], "last": before[1], "since": before[0], "day": day}
        yield Check(*(field, "odometer_low", miles - before[1], 0, expected, FAR, rests_on, since), False)
        most = LONG_DAY + limits["most_tenths"] * days // 10
        usual = limits["tenths_a_day"] // 10
        reason = "odometer_far" if usual else "odometer_far_new"
        yield Check(field, reason, miles - before[1], -FAR, expected, most, rests_on, {**since, "usual": usual})
    if after is not None:
        figures = {"next": after[1], "then": after[0], "day": day}
        yield Check(field, "odometer_high", after[1] - miles, 0, 0, FAR, rests_on, figures, False)


def candidates(typed: Typed, limits: Limits, field: str, day_field: str) -> Iterator[Candidate]:
    """What may be meant by a reading: a slip undone, the trip since the last one, or its last digits."""
    miles = typed[field]
    for rank, value in undone(miles, 0):
        yield Candidate(rank, {field: value})
    before, _ = neighbours(limits, typed[day_field])
    for last in (_same(limits, typed[day_field]), before):
        if last is not None:
            yield from _since(miles, last[1], field)


def _since(miles: int, last: int, field: str) -> Iterator[Candidate]:
    """What a trip since the last reading, or its last digits alone, come to."""
    if miles < last:
        if miles <= _MOST_ON_A_TRIP:
            yield Candidate(NEIGHBOUR, {field: last + miles})
        round_number = 10 ** len(str(miles))
        front = last - last % round_number
        yield Candidate(DIGIT, {field: front + miles if front + miles >= last else front + round_number + miles})


def _same(limits: Limits, day: str) -> Any:
    """The reading of a day itself, as [day, miles]; None without one."""
    readings = limits["readings"]
    at = bisect_left(readings, [day])
    return readings[at] if at < len(readings) and readings[at][0] == day else None


def neighbours(limits: Limits, day: str) -> tuple[Any, Any]:
    """The last reading before a day and the first one after it, as [day, miles]; readings of the day do not count."""
    readings = limits["readings"]
    before, after = bisect_left(readings, [day]), bisect_left(readings, [day, FAR])
    return (readings[before - 1] if before else None), (readings[after] if after < len(readings) else None)


def days_between(first: str, last: str) -> int:
    """Days from one day to another, both as 2027-03-05."""
    return (date.fromisoformat(last) - date.fromisoformat(first)).days
