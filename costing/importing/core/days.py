"""The days of a column. Which of two numbers is the month is read from the whole column, never from one cell."""

import re
from collections.abc import Sequence
from datetime import date, timedelta
from typing import NamedTuple

_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_NAMES = (
    *("january", "february", "march", "april", "may", "june", "july", "august", "september", "october"),
    *("november", "december", "sept", *_MONTHS),
)
_NUMBERS = re.compile(r"([0-9]{1,2})[/.\- ]([0-9]{1,2})[/.\- ]([0-9]{4}|[0-9]{2})")
_YEAR_FIRST = re.compile(r"([0-9]{4})[/.\-]?([0-9]{2})[/.\-]?([0-9]{2})")
_DAY_AND_NAME = re.compile(r"([0-9]{1,2})(?:st|nd|rd|th)?[ \-/.]*([a-z]{3,9})[ \-/.,]*([0-9]{4}|[0-9]{2})")
_NAME_AND_DAY = re.compile(r"([a-z]{3,9})[ \-/.]*([0-9]{1,2})(?:st|nd|rd|th)?[ ,\-/.]+([0-9]{4})")
_SERIAL = re.compile(r"([0-9]{5})(?:\.[0-9]+)?")
_TIME = re.compile(r"[t ,]+[0-9]{1,2}:[0-9]{2}(?::[0-9]{2})?(?:\.[0-9]+)?(?: ?[ap]m)?(?:z|[+-][0-9]{2}:?[0-9]{2})?$")
_WEEKDAY = re.compile(r"^(?:mon|tues?|wed(?:nes)?|thu(?:rs?)?|fri|sat(?:ur)?|sun)(?:day)?[ ,.]+")
#: The day before the first day of a spreadsheet's count, as it stands after its leap day of 1900 that never was.
_SERIAL_START = date(1899, 12, 30)
#: A number of five digits is a day only from 1980 to 2100.
_SERIALS = range(29_221, 73_416)
#: Two figures of a year are of this century: nobody's book begins before it.
_CENTURY = 2000

_Two = tuple[int, int, int]


class Days(NamedTuple):
    """A column of days: each a `date`, or None where the cell holds none.

    ``is_month_first`` if the column is of that order. ``is_open`` if every day written in numbers could be of either.
    ``at_odds`` are the places of two cells that cannot be of one order.
    """

    days: tuple[date | None, ...]
    is_month_first: bool = False
    is_open: bool = False
    at_odds: tuple[int, int] | None = None


def read_days(cells: Sequence[str]) -> Days:
    """Return the days of a column's cells."""
    found = [_read(text) for text in cells]
    pairs = [(place, one) for place, one in enumerate(found) if isinstance(one, tuple)]
    # A cell that is a day in neither order, such as 31/31/2026, says nothing about the order.
    fits = [(place, _made(year, two, one), _made(year, one, two)) for place, (one, two, year) in pairs]
    only_day = next((place for place, day_first, month_first in fits if day_first and not month_first), None)
    only_month = next((place for place, day_first, month_first in fits if month_first and not day_first), None)
    at_odds = None if only_day is None or only_month is None else (only_day, only_month)
    is_month_first = only_month is not None and only_day is None
    return Days(
        tuple(_settled(one, is_month_first=is_month_first) for one in found),
        is_month_first,
        is_open=bool(pairs) and only_day is None and only_month is None,
        at_odds=at_odds,
    )


def _settled(one: date | _Two | None, *, is_month_first: bool) -> date | None:
    if not isinstance(one, tuple):
        return one
    first, second, year = one
    return _made(year, first, second) if is_month_first else _made(year, second, first)


def _read(text: str) -> date | _Two | None:
    """A day; the two numbers and the year where the order is not told; None if it is none of these."""
    bare = _TIME.sub("", _WEEKDAY.sub("", " ".join(text.lower().split())))
    if match := _NUMBERS.fullmatch(bare):
        return int(match[1]), int(match[2]), _year(match[3])
    if match := _YEAR_FIRST.fullmatch(bare):
        return _made(int(match[1]), int(match[2]), int(match[3]))
    if match := _DAY_AND_NAME.fullmatch(bare):
        return _named(match[2], match[1], match[3])
    if match := _NAME_AND_DAY.fullmatch(bare):
        return _named(match[1], match[2], match[3])
    if (match := _SERIAL.fullmatch(bare)) and int(match[1]) in _SERIALS:
        return _SERIAL_START + timedelta(days=int(match[1]))
    return None


def _named(name: str, day: str, year: str) -> date | None:
    return _made(_year(year), _MONTHS.index(name[:3]) + 1, int(day)) if name in _NAMES else None


def _year(text: str) -> int:
    return int(text) + (_CENTURY if len(text) == 2 else 0)


def _made(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day)
    except ValueError:
        return None
