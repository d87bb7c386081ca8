"""Calendar months: counted on from a day, and laid out in weeks."""

import re
from calendar import Calendar, monthrange
from datetime import date, timedelta

ONE_DAY = timedelta(days=1)


def add_months(day: date, months: int) -> date:
    """The same day of the month ``months`` later, earlier if negative.

    Where that month has no such day, the last day of it counts: 31 January and a month is 28 February, 29 February 2028
    and a year is 28 February 2029.
    """
    year, month_index = divmod(day.year * 12 + day.month - 1 + months, 12)
    return date(year, month_index + 1, min(day.day, monthrange(year, month_index + 1)[1]))


#: The book has no use for a month outside these years.
_YEARS = range(1980, 2101)
_MONTH = re.compile(r"([0-9]{4})-(0[1-9]|1[0-2])")
_DAY = re.compile(r"([0-9]{4}-[0-9]{2})-([0-9]{2})")


def month_from(text: str) -> date | None:
    """The first day of a month written like 2026-03; None if it is not one, or lies outside the book's years."""
    match = _MONTH.fullmatch(text)
    if match is None or int(match[1]) not in _YEARS:
        return None
    return date(int(match[1]), int(match[2]), 1)


def day_from(text: str) -> date | None:
    """The day written like 2026-03-20; None if it is not one, or lies outside the book's years."""
    match = _DAY.fullmatch(text)
    month = month_from(match[1]) if match else None
    if match is None or month is None or not 1 <= int(match[2]) <= monthrange(month.year, month.month)[1]:
        return None
    return month.replace(day=int(match[2]))


def weeks_of(month: date) -> list[list[date]]:
    """The weeks of a month, Monday first, completed with days of the months before and after."""
    return Calendar().monthdatescalendar(month.year, month.month)


def neighbours(month: date) -> tuple[date | None, date | None]:
    """The first days of the months before and after; None beyond the book's years."""
    before, after = add_months(month, -1), add_months(month, 1)
    return before if before.year in _YEARS else None, after if after.year in _YEARS else None
