"""What the MOT history of a car that is for sale tells, from the rows that somebody has typed in.

It finds a mileage that falls or jumps, days that no pass covers, and advisories that return. It never says that a
car is fine: it knows only what was typed.
"""

import re
from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from fractions import Fraction
from itertools import pairwise
from typing import NamedTuple

from costing.core.money import divide_half_up
from fleet.core.mot import expiry_limits, first_mot_due

#: A shorter time between two tests says nothing of the pace: a retest, a test before a sale. Our own assumption.
LEAST_DAYS = 90
#: So many other times between tests make a usual pace. Our own assumption.
LEAST_PACES = 2
#: A mileage jumps if it grows by more than twice what is usual, and by so many miles more. Our own assumption.
JUMP_TIMES, JUMP_MILES = 2, 5_000
#: Two advisories are nearly the same if they share so many of all their words. Our own assumption.
ALIKE = Fraction(3, 5)
_DAYS_A_YEAR = 365
#: Words that say where: two lines on different places of the car are no return.
_PLACES = frozenset(
    {"nearside", "offside", "front", "rear", "left", "right", "inner", "outer", "upper", "lower", "centre", "driver"}
)
_FILLERS = frozenset(
    {"a", "an", "and", "but", "by", "has", "in", "is", "its", "of", "on", "or", "slightly", "the", "to", "very", "with"}
)
_WORD = re.compile(r"[^\W\d_]+")


class MotTest(NamedTuple):
    """One row of the history. ``miles`` is None if the row has none; an advisory is a line of its paper."""

    tested_on: date
    has_passed: bool
    miles: int | None = None
    advisories: tuple[str, ...] = ()


class Reading(NamedTuple):
    """The odometer at a test."""

    read_on: date
    miles: int


class Fall(NamedTuple):
    """A mileage lower than the one before it."""

    before: Reading
    after: Reading


class Jump(NamedTuple):
    """A mileage that grew far faster than between the other tests. ``usual`` is the pace of those, in miles a year."""

    before: Reading
    after: Reading
    usual: int


class Uncovered(NamedTuple):
    """Days that no pass in the rows can cover, both counted; ``first_needed`` if they begin with its first MOT."""

    first: date
    last: date
    first_needed: bool = False


class Returned(NamedTuple):
    """An advisory found at more than one test, in the words of the last of ``days``."""

    words: str
    days: tuple[date, ...]


class MotHistory(NamedTuple):
    """All that the rows tell, oldest first.

    ``runs_out`` has the earliest and the latest day on which the last pass may run out: the certificate alone tells
    which. ``failed_last`` is the day of the last test if it failed. Both are None where the rows do not say.
    """

    falls: tuple[Fall, ...] = ()
    jumps: tuple[Jump, ...] = ()
    uncovered: tuple[Uncovered, ...] = ()
    returned: tuple[Returned, ...] = ()
    runs_out: tuple[date, date] | None = None
    failed_last: date | None = None


def mot_history(tests: Sequence[MotTest], first_registered: date | None, nation: str) -> MotHistory:
    """Return what the rows tell, in whatever order they were typed. ``nation`` is GB or NI; KeyError for any other.

    A car whose ``first_registered`` is None may have had earlier tests than the first row.
    """
    rows = sorted(tests, key=lambda test: (test.tested_on, test.has_passed))
    if not rows:
        return MotHistory()
    readings = _readings(rows)
    passes = [row.tested_on for row in rows if row.has_passed]
    # Of a day with a failure and a pass, the pass comes last, as it does when a retest goes well.
    failed_last = None if rows[-1].has_passed else rows[-1].tested_on
    return MotHistory(
        tuple(Fall(before, after) for before, after in pairwise(readings) if after.miles < before.miles),
        tuple(_jumps(readings)),
        tuple(_uncovered(passes, first_registered, nation)),
        tuple(_returned(rows)),
        expiry_limits(passes[-1]) if passes else None,
        failed_last,
    )


def _readings(rows: Sequence[MotTest]) -> list[Reading]:
    """The highest mileage of each day, oldest first."""
    by_day: dict[date, int] = {}
    for row in rows:
        if row.miles is not None:
            by_day[row.tested_on] = max(row.miles, by_day.get(row.tested_on, 0))
    return [Reading(*one) for one in by_day.items()]


def _jumps(readings: Sequence[Reading]) -> Iterator[Jump]:
    """The times between two tests in which the car ran far more than in the others."""
    steps = list(pairwise(readings))
    for at, (before, after) in enumerate(steps):
        others = sorted(_pace(*step) for one, step in enumerate(steps) if one != at and _shows_a_pace(*step))
        if len(others) < LEAST_PACES:
            continue
        usual = _median(others)
        expected = usual * (after.read_on - before.read_on).days
        ran = after.miles - before.miles
        if ran > JUMP_TIMES * expected and ran > expected + JUMP_MILES:
            yield Jump(before, after, divide_half_up(usual * _DAYS_A_YEAR, 1))


def _shows_a_pace(before: Reading, after: Reading) -> bool:
    return (after.read_on - before.read_on).days >= LEAST_DAYS and after.miles >= before.miles


def _pace(before: Reading, after: Reading) -> Fraction:
    """Miles a day."""
    return Fraction(after.miles - before.miles, (after.read_on - before.read_on).days)


def _median(values: Sequence[Fraction]) -> Fraction:
    middle = len(values) // 2
    return values[middle] if len(values) % 2 else (values[middle - 1] + values[middle]) / 2


def _uncovered(passes: Sequence[date], first_registered: date | None, nation: str) -> Iterator[Uncovered]:
    """The days between passes, and before the first, on which none of them can have held.

    A certificate ends at most thirteen months after its test, so a shorter time between two passes shows nothing.
    """
    if passes and first_registered is not None:
        needed = first_mot_due(first_registered, nation)
        if needed < passes[0]:
            yield Uncovered(needed, passes[0] - timedelta(days=1), first_needed=True)
    for passed, again in pairwise(passes):
        first = expiry_limits(passed)[1] + timedelta(days=1)
        if first < again:
            yield Uncovered(first, again - timedelta(days=1))


class _Line(NamedTuple):
    """An advisory taken apart: what is wrong, and where on the car."""

    what: frozenset[str]
    where: frozenset[str]

    def is_like(self, other: "_Line") -> bool:
        """Whether both are the same or nearly, and neither names a place that the other excludes."""
        if not (self.where <= other.where or other.where <= self.where):
            return False
        shared = len(self.what & other.what)
        return shared > 0 and shared >= ALIKE * len(self.what | other.what)


def _taken_apart(words: str) -> _Line:
    """The words of a line without numbers, case, plural and fillers."""
    found = {word if word.endswith("ss") else word.removesuffix("s") for word in _WORD.findall(words.casefold())}
    return _Line(frozenset(found - _PLACES - _FILLERS), frozenset(found & _PLACES))


def _returned(rows: Sequence[MotTest]) -> Iterator[Returned]:
    """The advisories found on more than one day, in the order in which they were first found."""
    found: list[list[tuple[_Line, str, date]]] = []
    for row in rows:
        for words in row.advisories:
            line = _taken_apart(words)
            alike = next((group for group in found if group[-1][0].is_like(line)), None)
            if alike is None:
                found.append(alike := [])
            alike.append((line, words, row.tested_on))
    for group in found:
        days = tuple(sorted({day for _, _, day in group}))
        if len(days) > 1:
            yield Returned(group[-1][1], days)
