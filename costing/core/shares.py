"""The rule that shares a sum over days or miles, and the running totals built on it.

A running total says how much of a sum is used by the end of a day. A period uses the difference of two such figures, so
the parts of any split add up to the sum exactly.
"""

from bisect import bisect_left, bisect_right
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


class Span(Protocol):
    """Days from the first to the last, both counted."""

    @property
    def first(self) -> date: ...

    @property
    def last(self) -> date: ...


class RunningTotal(Span, Protocol):
    """How much of one sum is used by the end of any day.

    Nothing is used before ``first``. By ``last``, which is ``date.max`` if it is not known, all of ``amount`` is.
    """

    @property
    def amount(self) -> int: ...

    def by(self, day: date) -> int:
        """Return what is used by the end of ``day``."""
        ...


class ByDays(NamedTuple):
    """A sum shared over the days ``first`` to ``last``, both counted."""

    first: date
    last: date
    amount: int

    def by(self, day: date) -> int:
        """Return what is used by the end of ``day``. Raises ValueError if ``last`` is before ``first``."""
        return share(self.amount, (day - self.first).days + 1, (self.last - self.first).days + 1)


class InTurn:
    """Sums that follow one another, as one; ``days`` are those of each, and ``amounts`` what each comes to.

    Each is over before the next begins. Several may end on the same day, of which only the first may begin before it.
    """

    def __init__(self, days: Sequence[Span], amounts: Iterable[int]) -> None:
        self._days, self._lasts = days, [span.last for span in days]
        self._used_up = list(accumulate(amounts, initial=0))

    @property
    def first(self) -> date:
        """The first day of the first one."""
        return self._days[0].first

    @property
    def last(self) -> date:
        """The last day of the last one."""
        return self._lasts[-1]

    @property
    def amount(self) -> int:
        """What they come to together."""
        return self._used_up[-1]

    def by(self, day: date) -> int:
        """Return what is used by the end of ``day``: those that are over, and a share of the one that runs."""
        over = bisect_right(self._lasts, day)
        if over == len(self._lasts):
            return self.amount
        running, used_up = self._days[over], self._used_up[over]
        return used_up + ByDays(running.first, running.last, self._used_up[over + 1] - used_up).by(day)


def in_turn(totals: Sequence[RunningTotal]) -> InTurn:
    """Return sums that follow one another, each of one day or shared over its days, as one."""
    return InTurn(totals, (total.amount for total in totals))


def used_in(total: RunningTotal, before: date, last: date) -> int:
    """Return what is used from the end of the day ``before`` to the end of ``last``.

    A sum whose days all lie in between is used up there; only one that reaches over either end needs a share.
    """
    if total.last <= before or total.first > last:
        return 0
    if total.first > before and total.last <= last:
        return total.amount
    return total.by(last) - total.by(before)


def growth_at(totals: Iterable[RunningTotal], marks: Sequence[date]) -> list[int]:
    """Return what all ``totals`` together use from the end of the first mark to the end of each mark.

    ``marks`` are days in rising order. Each sum is worked out only at marks where it may change, so ten years of
    months take little longer than one.
    """
    steps = [0] * len(marks)
    for total in totals if len(marks) > 1 else ():
        last = total.last
        for index in range(max(1, bisect_left(marks, total.first)), len(marks)):
            steps[index] += used_in(total, marks[index - 1], marks[index])
            if marks[index] >= last:
                break
    return list(accumulate(steps))
