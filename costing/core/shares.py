"""The rule that shares a sum over days or miles, and the running totals built on it.

A running total says how much of a sum is used by the end of a day. A period uses the difference of two such figures, so
the parts of any split add up to the sum exactly.
"""

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from datetime import date
from itertools import accumulate
from typing import NamedTuple, Protocol


def share(amount: int, elapsed: int, whole: int) -> int:
    """Return the part of ``amount`` used by the end of ``elapsed`` of ``whole`` days or miles.

    ``amount`` may be pence, minutes, lessons or miles; a negative one is shared by its absolute
    value. ``elapsed`` counts as 0 if it is less, and as ``whole`` if it is more. Raises ValueError if ``whole`` < 1.
    """
    if whole < 1:
        raise ValueError(f"a sum cannot be shared over {whole} days or miles")
    if elapsed <= 0:
        return 0
    if elapsed >= whole:
        return amount
    used = abs(amount) * elapsed // whole
    return used if amount >= 0 else -used


class RunningTotal(Protocol):
    """How much of one sum is used by the end of any day.

    Nothing is used before ``first``, and nothing is left after ``last``, which is ``date.max`` if it is not known.
    """

    @property
    def first(self) -> date: ...

    @property
    def last(self) -> date: ...

    def by(self, day: date) -> int:
        """Return what is used by the end of ``day``."""
        ...


class Whole(RunningTotal, Protocol):
    """A running total that is told its whole sum."""

    @property
    def amount(self) -> int: ...


class ByDays(NamedTuple):
    """A sum shared over the days ``first`` to ``last``, both counted."""

    first: date
    last: date
    amount: int

    def by(self, day: date) -> int:
        """Return what is used by the end of ``day``. Raises ValueError if ``last`` is before ``first``."""
        return share(self.amount, (day - self.first).days + 1, (self.last - self.first).days + 1)


def growth_at(totals: Iterable[RunningTotal], marks: Sequence[date]) -> list[int]:
    """Return what all ``totals`` together use from the end of the first mark to the end of each mark.

    ``marks`` are days in rising order. Each sum is worked out only at marks where it may change, so ten years of
    months take little longer than one.
    """
    steps = [0] * len(marks)
    for total in totals if marks else ():
        if total.last <= marks[0] or total.first > marks[-1]:
            continue
        before, last = total.by(marks[0]), total.last
        for index in range(max(1, bisect_left(marks, total.first)), len(marks)):
            now = total.by(marks[index])
            steps[index] += now - before
            if marks[index] >= last:
                break
            before = now
    return list(accumulate(steps))
