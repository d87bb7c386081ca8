"""Whether an odometer can have shown so many miles on a day: it never falls, and a car runs so far a day at most."""

from collections.abc import Iterable, Iterator
from datetime import date
from itertools import pairwise
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


def limits(readings: Iterable[Reading]) -> Limits:
    """What one car's readings allow: the last ones as [day, miles], and the tenths of miles a day that it runs."""
    highest: dict[date, int] = {}
    for read_on, miles in readings:
        highest[read_on] = max(miles, highest.get(read_on, 0))
    known = sorted(highest.items())[-MOST_READINGS:]
    gaps = [((day - before_on).days, miles - before) for (before_on, before), (day, miles) in pairwise(known)]
    paces = [10 * miles // days for days, miles in gaps]
    usual = usual_range(paces, floor_percent=150)
    most, middle = 10 * MOST_A_DAY, 0
    if usual:
        long_days = max(10 * (miles - LONG_DAY) // days for days, miles in gaps)
        most, middle = min(most, max(usual.high, long_days * 6 // 5)), usual.middle
    return {"readings": [[day.isoformat(), miles] for day, miles in known], "tenths_a_day": middle, "most_tenths": most}


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
    return next((one for one in limits["readings"] if one[0] == day), None)


def neighbours(limits: Limits, day: str) -> tuple[Any, Any]:
    """The last reading before a day and the first one after it, as [day, miles]; readings of the day do not count."""
    readings = limits["readings"]
    before = [one for one in readings if one[0] < day]
    after = [one for one in readings if one[0] > day]
    return (before[-1] if before else None), (after[0] if after else None)


def days_between(first: str, last: str) -> int:
    """Days from one day to another, both as 2027-03-05."""
    return (date.fromisoformat(last) - date.fromisoformat(first)).days
