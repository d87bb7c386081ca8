"""Days, calendar months and periods. Nothing here asks what day it is."""

from calendar import monthrange
from collections.abc import Iterable
from datetime import date
from typing import Literal

from costing.core.records import Period
from fleet.core.days import ONE_DAY as ONE_DAY
from fleet.core.days import add_months

#: What lies so near to the first or last day of a time with the car reaches to it.
NEAR = 7 * ONE_DAY

#: How often something falls due.
Every = Literal["week", "month", "quarter", "year"]
#: Whole months between two days of it; a week has none.
MONTHS_BETWEEN: dict[str, int] = {"month": 1, "quarter": 3, "year": 12}

#: Ten years: a longer period is a slip in the year, and would take long to work out.
LONGEST_DAYS = 3_660


def counted_on(first: date, every: Every, number: int) -> date:
    """Return the day ``number`` weeks, months, quarters or years after ``first``; see `add_months`."""
    if every == "week":
        return first + number * 7 * ONE_DAY
    return add_months(first, number * MONTHS_BETWEEN[every])


def days_in(period: Period) -> int:
    """Return the number of days of ``period``, both ends counted."""
    return (period.last - period.first).days + 1


def overlap(one: Period, other: Period) -> Period | None:
    """Return the days that both periods share; None if they share none."""
    if one.first <= other.first and other.last <= one.last:
        return other
    first, last = max(one.first, other.first), min(one.last, other.last)
    return Period(first, last) if first <= last else None


def spanning(periods: Iterable[Period]) -> Period:
    """Return the days from the first of all ``periods`` to the last. Raises ValueError without any."""
    every = list(periods)
    return Period(min(one.first for one in every), max(one.last for one in every))


def month_of(day: date) -> Period:
    """Return the calendar month ``day`` lies in."""
    return Period(day.replace(day=1), day.replace(day=monthrange(day.year, day.month)[1]))


def last_ended_month(today: date) -> Period:
    """Return the calendar month before the one ``today`` lies in."""
    return month_of(today.replace(day=1) - ONE_DAY)


def tax_year_of(day: date) -> Period:
    """Return the tax year that ``day`` lies in, 6 April to 5 April.

    Income Tax Act 2007, section 4; nobody has checked it against the text yet.
    """
    begins = date(day.year, 4, 6)
    year = day.year if day >= begins else day.year - 1
    return Period(date(year, 4, 6), date(year + 1, 4, 5))


def kept_until(day: date) -> date:
    """Return until when somebody who works for themselves must keep the records of the tax year of ``day``.

    Five years from the 31 January by which its return is due: Taxes Management Act 1970, section 12B, for a return that
    was sent in time.
    """
    return date(tax_year_of(day).last.year + 6, 1, 31)


def months_ending(month_first: date, count: int) -> Period:
    """Return the period of ``count`` calendar months that ends with the month of ``month_first``."""
    last_month = month_of(month_first)
    return Period(add_months(last_month.first, 1 - count), last_month.last)


def closing_date(month_first: date, closing_day: int) -> date:
    """Return the day in the month after on which the month of ``month_first`` is closed."""
    return add_months(month_first, 1).replace(day=closing_day)


def months_within(period: Period) -> tuple[Period, ...]:
    """Return every calendar month that ``period`` touches, whole and in order."""
    first = month_of(period.first).first
    count = (period.last.year - first.year) * 12 + period.last.month - first.month + 1
    return tuple(month_of(add_months(first, index)) for index in range(count))
