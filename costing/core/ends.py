"""What of a sum counts on another day than its own: what fell before a time with the car, or an end left of it."""

from collections.abc import Sequence
from datetime import date
from typing import NamedTuple

from costing.core.keeping import InTimes
from costing.core.periods import ONE_DAY
from costing.core.records import Period
from costing.core.shares import RunningTotal
from costing.core.spent import Ended


class Shifted(NamedTuple):
    """Pence of a sum that a period has though they fall on none of its days with the car.

    ``before`` fell on days without the car, and counts on ``begun_on``, the first day of a time with it. ``rest`` was
    left of it, and counts on ``ended_on``: the last day with the car, or of the cover.
    """

    before: int = 0
    rest: int = 0
    begun_on: date | None = None
    ended_on: date | None = None


#: A sum that counts on its own days alone.
NOTHING = Shifted()


def shifted(total: RunningTotal, period: Period) -> Shifted:
    """Return what of a sum, as `parts` takes it, counts in ``period`` on another day than its own."""
    times = total.times if isinstance(total, InTimes) else ()
    own = total.total if isinstance(total, InTimes) else total
    begun = [time for time in times if period.first <= time.first <= period.last]
    before = sum(_skipped(own, times, time) for time in begun)
    rest, ended_on = _left(own, times, period)
    return Shifted(before, rest, begun[-1].first if before else None, ended_on if rest else None)


def _skipped(own: RunningTotal, times: Sequence[Period], time: Period) -> int:
    """What fell between the time before and this one."""
    index = times.index(time)
    return own.by(time.first - ONE_DAY) - (own.by(times[index - 1].last) if index else 0)


def _left(own: RunningTotal, times: Sequence[Period], period: Period) -> tuple[int, date | None]:
    """What was left on the day that ends the sum, if that lies in the period, and the day."""
    ends = [own.ends_on] if isinstance(own, Ended) else []
    ends += [times[-1].last] if times else []
    if not ends:
        return 0, None
    day = min(ends)
    is_own = not times or any(first <= day <= last for first, last in times)
    if not is_own or not period.first <= day <= period.last:
        return 0, None
    used = (own.total if isinstance(own, Ended) else own).by(day)
    return own.amount - used, day
