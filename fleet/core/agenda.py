"""Months as they are leafed through."""

import re
from calendar import Calendar
from datetime import date

from fleet.core.days import add_months

#: A month outside these holds no day of a tuition car's life.
_YEARS = range(1980, 2101)
_MONTH = re.compile(r"([0-9]{4})-(0[1-9]|1[0-2])")


def month_from(text: str) -> date | None:
    """The first day of a month written like 2026-03; None for what is no month of this book."""
    match = _MONTH.fullmatch(text)
    if match is None or int(match[1]) not in _YEARS:
        return None
    return date(int(match[1]), int(match[2]), 1)


def weeks_of(month: date) -> list[list[date]]:
    """The weeks of a month, Monday first, filled up with the last days before and the first ones after it."""
    return Calendar().monthdatescalendar(month.year, month.month)


def neighbours(month: date) -> tuple[date | None, date | None]:
    """The first days of the months before and after, None where the book's years end."""
    before, after = add_months(month, -1), add_months(month, 1)
    return before if before.year in _YEARS else None, after if after.year in _YEARS else None
