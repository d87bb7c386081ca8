"""One course of events: when one leaves, how far one drives, and in which month a week ends.

Every function of the core takes whole pence and exact fractions. Those of this module, of the payments and of the ways
out use plain arithmetic alone, so that the odds may put arrays in their place.
"""

from datetime import date
from fractions import Fraction
from functools import lru_cache
from typing import Any, NamedTuple, TypeVar

from costing.choosing.core.case import Use, WeeksOff, WhatIf
from costing.core.periods import ONE_DAY
from fleet.core.days import add_months

#: In the odds, an array of floats.
Number = TypeVar("Number", int, Fraction)


class Course(NamedTuple):
    """What happens to a plan: one leaves after ``months``, with weeks off inside them, or with one big repair.

    The plan itself stays ``use``, whose months are the horizon. ``weeks_off`` are the numbers of the weeks. ``taught``
    is the share of the planned lessons and miles that is left once the weeks off are taken out.
    """

    use: Use
    months: int
    weeks_off: range
    taught: Fraction
    one_repair: int = 0

    @property
    def years(self) -> Fraction:
        return Fraction(self.months, 12)

    @property
    def miles(self) -> Fraction:
        """All the miles that are driven."""
        return self.use.miles_per_year * self.months / 12 * self.taught

    @property
    def lesson_hours(self) -> Fraction:
        return self.use.lesson_hours_per_week * self.use.weeks_taught_per_year * self.months / 12 * self.taught

    @property
    def business_share(self) -> Fraction:
        """The share of a year's miles that isn't private; nothing if fewer are driven than were planned as private."""
        if not self.use.miles_per_year:
            return Fraction(0)
        return above_nothing(1 - self.use.private_miles_per_year / self.use.miles_per_year)

    @property
    def whole_weeks(self) -> int:
        """The weeks until one leaves, at 52 a year."""
        return self.months * 52 // 12

    def months_of_weeks(self, first: int, last: int) -> tuple[int, ...]:
        """The month in which each week from ``first`` to ``last`` ends; the start is week 0 and month 0.

        A short quarter ends before its thirteenth week does, so that week is paid with its last month.
        """
        return _months_of_weeks(self.use.starts_on, self.months, first, last)


def course_of(use: Use, months: int | None = None, what_if: WhatIf | None = None) -> Course:
    """The plan carried through to the horizon, to ``months``, or as something happens to it."""
    change = what_if or _AS_PLANNED
    months = months or change.leave_at_month or use.months
    if change.more_miles:
        use = use._replace(miles_per_year=use.miles_per_year * (1 + change.more_miles))
    off = change.off or _NO_WEEKS
    weeks_off = range(off.from_week, min(off.from_week + off.weeks, months * 52 // 12 + 1))
    taught = above_nothing(1 - len(weeks_off) * 12 / (use.weeks_taught_per_year * months)) if weeks_off else Fraction(1)
    return Course(use, months, weeks_off, taught, change.one_repair or 0)


_AS_PLANNED = WhatIf("")
_NO_WEEKS = WeeksOff(1, 0)


def above_nothing(value: Number) -> Number:
    """The value if it's above zero, or else zero: for a number and for each of an array."""
    return value * (value > 0)


def at_most(value: Any, most: Any) -> Any:
    """The lower of two values: for numbers and for each of an array."""
    return value - above_nothing(value - most)


def or_nothing(value: Any) -> Any:
    """The value, or zero if it isn't told."""
    return 0 if value is None else value


@lru_cache(maxsize=4096)
def _months_of_weeks(start: date, most: int, first: int, last: int) -> tuple[int, ...]:
    return tuple(min(_month_of_week(start, week), most) for week in range(first, last + 1))


@lru_cache(maxsize=4096)
def _month_of_week(start: date, week: int) -> int:
    """The first month that ends on or after the day ``week`` weeks after ``start``."""
    day = start + 7 * week * ONE_DAY
    month = max(0, (day.year - start.year) * 12 + day.month - start.month - 1)
    while add_months(start, month) < day:
        month += 1
    return month
