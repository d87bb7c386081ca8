"""The kinds of cell an archive has: how each is read, and the one form in which it is written.

An empty cell means unknown or not applicable and reaches neither reader nor writer. Readers raise
``CellFault`` with words that follow the column's name.
"""

import re
from collections.abc import Callable, Collection
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from functools import partial
from typing import Any

from django.core.exceptions import ValidationError
from django.core.validators import validate_email

from config import budgets
from costing.archive.faults import quoted
from fleet.core import registration

#: What the whole-number fields of the database hold: the dump of any book must load again.
LARGEST_SMALL, LARGEST = 32_767, 2_147_483_647
_LONGEST_NAME = 40
#: A year outside these is a slip of the keyboard, not a day in the life of a tuition car.
EARLIEST_DAY, LATEST_DAY = date(1980, 1, 1), date(2100, 12, 31)


class CellFault(ValueError):
    """One cell cannot be what its column holds; the message says what it should have been."""


def _unchanged(value: Any) -> Any:
    return value


#: What makes a spreadsheet work a cell out: also as East Asian keyboards have them, and the sign of a true minus.
_BEGINS_FORMULA = "=+\\-@\t\r\n\u2212\uff1d\uff0b\uff0d\uff20"
_FORMULA = re.compile(f"'*[{_BEGINS_FORMULA}]")
_GUARDED = re.compile(f"'+[{_BEGINS_FORMULA}]")


@dataclass(frozen=True)
class Kind:
    """One kind of cell: text to value, value to text, and a value of the book to the same value read back.

    ``is_words``: members write what they like in it. One that would begin a formula in a spreadsheet has an
    apostrophe before it in the file, by which spreadsheets know words; and so has one that has some there itself.
    """

    parse: Callable[[str], Any]
    show: Callable[[Any], str] = str
    tidy: Callable[[Any], Any] = _unchanged
    is_words: bool = False

    def read(self, cell: str) -> Any:
        """The value of a cell; raises CellFault."""
        return self.parse(cell[1:] if self.is_words and _GUARDED.match(cell) else cell)

    def write(self, value: Any) -> str:
        """The cell of a value, which begins no formula unless it is a number."""
        cell = self.show(value)
        return f"'{cell}" if self.is_words and _FORMULA.match(cell) else cell


# --- Words ---------------------------------------------------------------------------------------------


def _tidy_text(value: str) -> str:
    """Without surrounding white space and with plain line ends: what survives the way out and in again."""
    return value.replace("\r\n", "\n").replace("\r", "\n").strip()


def text(longest: int) -> Kind:
    """Free text of at most ``longest`` characters in any alphabet."""

    def parse(cell: str) -> str:
        value = _tidy_text(cell)
        if len(value) > longest:
            raise CellFault(f"is {len(value)} characters long; the book holds {longest}")
        return value

    return Kind(parse, str, _tidy_text, is_words=True)


def choice(values: Collection[str]) -> Kind:
    """One of a few words, written exactly so."""

    def parse(cell: str) -> str:
        if cell not in values:
            raise CellFault(f"{quoted(cell)} is none of {', '.join(values)}")
        return cell

    return Kind(parse)


def _parse_email(cell: str) -> str:
    email = cell.lower()
    try:
        validate_email(email)
    except ValidationError:
        raise CellFault(f"{quoted(cell)} is not an e-mail address") from None
    if len(email) > 254:
        raise CellFault(f"is {len(email)} characters long; the book holds 254")
    return email


EMAIL = Kind(_parse_email, str, str.lower, is_words=True)


def _parse_mark(cell: str) -> str:
    mark = registration.normalise(cell)
    # The cell itself must be plain letters too: upper-casing turns some others, like a sharp s, into these.
    if not cell.isascii() or not re.fullmatch(r"[A-Z0-9]{2,8}", mark):
        raise CellFault(f"{quoted(cell)} is not a registration mark: 2 to 8 letters and digits")
    return mark


MARK = Kind(_parse_mark)


def _parse_name(cell: str) -> str:
    if len(cell) > _LONGEST_NAME or not re.fullmatch(r"[-a-zA-Z0-9_]+", cell):
        raise CellFault(f"{quoted(cell)} is no name of at most {_LONGEST_NAME} letters, digits, - and _")
    return cell


def _parse_names(cell: str) -> tuple[str, ...]:
    names = tuple(_parse_name(name) for name in cell.split())
    told: set[str] = set()
    for name in names:
        if name in told:
            raise CellFault(f"{quoted(name)} is in it twice")
        told.add(name)
    return names


#: The name of a point of the walkaround check; and several of them, with spaces between.
NAME = Kind(_parse_name, is_words=True)
NAMES = Kind(_parse_names, " ".join, tuple, is_words=True)


# --- Days and yes or no ----------------------------------------------------------------------------------


def _parse_day(cell: str) -> date:
    try:
        day = date.fromisoformat(cell) if re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", cell) else None
    except ValueError:
        raise CellFault(f"{quoted(cell)} is no day of the calendar") from None
    if day is None:
        raise CellFault(f"{quoted(cell)} is not a day written year first, such as 2027-03-05")
    if not EARLIEST_DAY <= day <= LATEST_DAY:
        raise CellFault(f"{quoted(cell)} is not between {EARLIEST_DAY} and {LATEST_DAY}")
    return day


DAY = Kind(_parse_day, date.isoformat)


def _parse_month(cell: str) -> date:
    if not re.fullmatch(r"[0-9]{4}-[0-9]{2}", cell):
        raise CellFault(f"{quoted(cell)} is not a month written year first, such as 2027-03")
    return _parse_day(f"{cell}-01")


#: A calendar month, as its first day.
MONTH = Kind(_parse_month, lambda month: f"{month:%Y-%m}")


def _parse_flag(cell: str) -> bool:
    # In any case: spreadsheets save these two words in capitals.
    if cell.lower() not in {"true", "false"}:
        raise CellFault(f"{quoted(cell)} is neither true nor false")
    return cell.lower() == "true"


def _show_flag(value: bool) -> str:
    return "true" if value else "false"


FLAG = Kind(_parse_flag, _show_flag)


# --- Numbers ---------------------------------------------------------------------------------------------


def integer(*, least: int = 0, most: int = LARGEST) -> Kind:
    """A whole number from ``least`` to ``most``, both allowed."""

    def parse(cell: str) -> int:
        if not re.fullmatch(r"-?[0-9]+", cell):
            hint = "; leave the commas out" if "," in cell else ""
            raise CellFault(f"{quoted(cell)} is not a whole number{hint}")
        # Compared as text first: Python refuses to turn thousands of digits into a number, be they noughts.
        is_longer = len(cell.lstrip("-0")) > len(str(most))
        if not is_longer and len(cell) > budgets.ARCHIVE_DIGITS:
            raise CellFault(f"{quoted(cell)} has more than {budgets.ARCHIVE_DIGITS} digits")
        if is_longer or int(cell) > most:
            raise CellFault(f"{quoted(cell)} is more than {most}, the largest the book can hold")
        if int(cell) < least:
            raise CellFault(f"{quoted(cell)} is less than {least}")
        return int(cell)

    return Kind(parse)


def one_number_of(values: Collection[int]) -> Kind:
    """One of a few whole numbers."""
    words = choice([str(value) for value in values])
    return Kind(lambda cell: int(words.parse(cell)))


def decimal(
    *,
    digits: int,
    places: int,
    least: Decimal | None = None,
    above: Decimal | None = None,
    below: Decimal | None = None,
    most: Decimal | None = None,
    shown_places: int = 2,
    unit_hint: str = "",
) -> Kind:
    """A number with at most ``places`` decimals and ``digits`` digits in all, exact, within its bounds.

    It is written with ``shown_places`` decimals, and with more only where they are not noughts.
    """
    largest = Decimal(10) ** (digits - places) - Decimal(10) ** -places

    def parse(cell: str) -> Decimal:
        value = _plain_decimal(cell, places)
        if least is not None and value < least:
            raise CellFault(f"{quoted(cell)} is less than {least}{unit_hint}")
        if above is not None and value <= above:
            raise CellFault(f"{quoted(cell)} is not above {above}{unit_hint}")
        if below is not None and value >= below:
            raise CellFault(f"{quoted(cell)} is not below {below}{unit_hint}")
        if most is not None and value > most:
            raise CellFault(f"{quoted(cell)} is more than {most}{unit_hint}")
        if abs(value) > largest:
            raise CellFault(f"{quoted(cell)} is beyond {largest}, the largest the book can hold")
        return value

    return Kind(parse, partial(_show_decimal, places=shown_places))


def money(*, digits: int, least: Decimal | None = None) -> Kind:
    """Pounds with at most two decimals."""
    return decimal(digits=digits, places=2, least=least)


def _plain_decimal(cell: str, places: int) -> Decimal:
    if not re.fullmatch(r"-?[0-9]+(\.[0-9]+)?", cell):
        hint = "; leave the pound sign out" if "£" in cell else ""
        hint += "; use a full stop for the decimals and no commas" if "," in cell else ""
        raise CellFault(f"{quoted(cell)} is not a plain number such as 1234.56{hint}")
    if len(cell.partition(".")[2]) > places:
        raise CellFault(f"{quoted(cell)} has more than {places} decimals")
    value = Decimal(cell)
    return value if value else abs(value)  # no minus sign before a nought


def _show_decimal(value: Decimal, *, places: int) -> str:
    whole, _, fraction = f"{value if value else abs(value):f}".partition(".")
    return f"{whole}.{fraction.rstrip('0').ljust(places, '0')}"


def _parse_hours(cell: str) -> int:
    if ":" in cell:
        raise CellFault(f"{quoted(cell)} is not hours with decimals; write an hour and a half as 1.5")
    exact = _plain_decimal(cell, places=12) * 60
    if exact < 0:
        raise CellFault(f"{quoted(cell)} is less than 0")
    if exact >= LARGEST + Decimal("0.5"):
        raise CellFault(f"{quoted(cell)} is more hours than the book can hold")
    return int(exact.quantize(Decimal(1), ROUND_HALF_UP))


def _show_hours(minutes: int) -> str:
    """Two decimals are within 0.3 of a minute, so that reading them back gives the same minutes."""
    return f"{(Decimal(minutes) / 60).quantize(Decimal('0.01'), ROUND_HALF_UP):f}"


#: Decimal hours in the file, whole minutes in the book, rounded half up.
HOURS = Kind(_parse_hours, _show_hours)
