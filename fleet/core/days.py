"""Calendar months, counted the way due dates are."""

from calendar import monthrange
from datetime import date


def add_months(day: date, months: int) -> date:
    """The same day of the month ``months`` later, earlier if negative.

    Where that month has no such day it is its last: 31 January and a month is 28 February, 29 February 2028
    and a year is 28 February 2029.
    """
    year, month_index = divmod(day.year * 12 + day.month - 1 + months, 12)
    return date(year, month_index + 1, min(day.day, monthrange(year, month_index + 1)[1]))
