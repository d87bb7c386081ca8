"""Kinds of quantity: numbers, hours, days, months, choices and addresses, each with its reader, bounds and words.

``read`` takes the text of a file or a command, ``read_typed`` what somebody types, and ``check`` a value of the right
type already. Each raises `Wrong` for what it does not take. ``write`` gives the text that reads back as the same value.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from typing import Any

from django.core.exceptions import ValidationError
from django.core.validators import validate_email

from config import budgets

_PLAIN = re.compile(r"-?[0-9]+(?:\.[0-9]+)?")
_TYPED = re.compile(r"-?(?:(?:[0-9]+|[0-9]{1,3}(?:,[0-9]{3})+)(?:\.[0-9]*)?|\.[0-9]+)")
_CLOCK = re.compile(r"([0-9]{1,6}):([0-5][0-9])")
#: Digits before or after the point of a number that is one already; no figure in the book has half as many.
_MOST_DIGITS = 20


class Wrong(ValueError):
    """A value that a quantity does not take. The message completes "This ..."; ``code`` is "least" below the bounds."""

    def __init__(self, words: str, code: str = "invalid") -> None:
        super().__init__(words)
        self.code = code


@dataclass(frozen=True, kw_only=True)
class Number:
    """An exact number: an `int`, or with ``places`` a `Decimal` with up to that many.

    ``before`` and ``after`` stand around the number in words, ``example`` shows how to type one, and ``hint`` follows
    the error for one out of bounds. A text has ``shown_places`` decimals, or more if they are not nought.
    """

    most: Decimal | int
    least: Decimal | int = 0
    places: int = 0
    before: str = ""
    after: str = ""
    example: str = "6"
    hint: str = ""
    shown_places: int = 2

    def within(self, **changes: Any) -> "Number":
        """The same quantity with other bounds, places or example."""
        return replace(self, **changes)

    def read(self, text: str) -> Any:
        """The number in a file or a command: digits, a full stop and a minus sign only. Raises Wrong."""
        if not _PLAIN.fullmatch(text):
            raise Wrong(self._not_plain(text))
        # Python refuses to read thousands of digits as a number, even if all are noughts.
        if len(text) > budgets.ARCHIVE_DIGITS:
            raise Wrong(f"has more than {budgets.ARCHIVE_DIGITS} digits")
        if len(text.partition(".")[2].rstrip("0")) > self.places:
            raise Wrong(self._too_fine())
        return self._bounded(Decimal(text))

    def read_typed(self, text: str) -> Any:
        """The number somebody typed, perhaps with a pound sign, spaces, or commas at the thousands. Raises Wrong.

        A comma anywhere else is refused rather than guessed at: "45,2" may be £45.20 or a slip for £452.
        """
        bare = re.sub(r"[\s£]", "", text).replace("−", "-")
        if not _TYPED.fullmatch(bare):
            if "," in bare and self.places:
                pointed = self.example if "." in self.example else f"{self.example}.50"
                raise Wrong(f"cannot be read: put a point before the decimals, as in {pointed}")
            raise Wrong(f"cannot be read: write it like {self.example}")
        whole, _, fraction = bare.replace(",", "").partition(".")
        whole = f"{whole}0" if whole in {"", "-"} else whole
        return self.read(f"{whole}.{fraction}" if fraction else whole)

    def check(self, value: Any) -> Any:
        """The number, given one of the right type already. Raises Wrong."""
        kinds = (int, Decimal) if self.places else int
        if isinstance(value, bool) or not isinstance(value, kinds):
            quotes = "; write it without quotes" if isinstance(value, str) else ""
            raise Wrong(f"{self._not_a_number()}{quotes}")
        if isinstance(value, Decimal):
            # Checked before any arithmetic: 1e99999999 is a number, too.
            if not value.is_finite() or abs(value.adjusted()) > _MOST_DIGITS:
                raise Wrong("is not a number that can be reckoned with")
            if (Fraction(value) * 10**self.places).denominator != 1:
                raise Wrong(self._too_fine())
        return self._bounded(value)

    def write(self, value: Decimal | int) -> str:
        """The text that ``read`` turns into the same number."""
        if not self.places:
            return str(value)
        whole, _, fraction = f"{value if value else abs(value):f}".partition(".")
        return f"{whole}.{fraction.rstrip('0').ljust(self.shown_places, '0')}"

    def _bounded(self, value: Decimal | int) -> Decimal | int:
        if not self.least <= value <= self.most:
            is_less, bounds = value < self.least, (self._shown(self.least), self._shown(self.most))
            words = f"is less than {bounds[0]}" if is_less else f"is more than {bounds[1]}"
            range_words = f"it must be between {bounds[0]} and {bounds[1]}{self.after}"
            raise Wrong(f"{words}: {range_words}{self.hint}", "least" if is_less else "most")
        if not self.places:
            return int(value)
        exact = Decimal(value).quantize(Decimal(1).scaleb(-self.places))
        return exact or abs(exact)  # without a minus sign before a nought

    def _shown(self, bound: Decimal | int) -> str:
        return f"{'-' if bound < 0 else ''}{self.before}{abs(bound):,}"

    def _too_fine(self) -> str:
        few = {0: "is not a whole number", 1: "has more than one decimal place"}
        return few.get(self.places, f"has more than {self.places} decimal places")

    def _not_a_number(self) -> str:
        return "is not a number" if self.places else "is not a whole number"

    def _not_plain(self, text: str) -> str:
        pound = "; leave the pound sign out" if "£" in text else ""
        comma = "" if "," not in text else "; leave the commas out"
        if not self.places:
            return f"is not a whole number{pound}{comma}"
        comma = comma and "; use a full stop for the decimals and no commas"
        return f"is not a plain number such as 1234.56{pound}{comma}"


@dataclass(frozen=True)
class Hours:
    """Hours with decimals, kept as whole minutes (`int`) rounded half up: 0.33 hours is 20 minutes."""

    figure: Number
    example = "1.5 or 1:30"

    def read(self, text: str) -> int:
        """The minutes in the hours of a file or a command. Raises Wrong."""
        if ":" in text:
            raise Wrong("is not hours with decimals; write an hour and a half as 1.5")
        return self._minutes(self.figure.read(text))

    def read_typed(self, text: str) -> int:
        """The minutes somebody typed, as 1.5 or as 1:30. Raises Wrong."""
        if clock := _CLOCK.fullmatch(text.strip()):
            hours, minutes = int(clock[1]), int(clock[2])
            self.figure.check(hours + bool(minutes))
            return hours * 60 + minutes
        return self._minutes(self.figure.within(example=self.example).read_typed(text))

    def write(self, minutes: int) -> str:
        """Hours with two decimals, which are within 0.3 of a minute and so read back as the same minutes."""
        return f"{(Decimal(minutes) / 60).quantize(Decimal('0.01'), ROUND_HALF_UP):f}"

    @staticmethod
    def _minutes(hours: Decimal) -> int:
        return int((hours * 60).quantize(Decimal(1), ROUND_HALF_UP))


@dataclass(frozen=True)
class Day:
    """A day. A year outside the bounds is a typing slip (0026, 20027)."""

    least: date
    most: date

    def read(self, text: str) -> date:
        """The day in a file or a command, year first. Raises Wrong."""
        if not re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", text):
            raise Wrong("is not a day written year first, such as 2027-03-05")
        try:
            return self.check(date.fromisoformat(text))
        except Wrong:
            raise
        except ValueError:
            raise Wrong("is no day of the calendar") from None

    def check(self, value: Any) -> date:
        """The day, given a date already. Raises Wrong."""
        if type(value) is not date:
            raise Wrong("is not a day such as 2027-01-01, written without quotes and without a time")
        if not self.least <= value <= self.most:
            raise Wrong(f"is not between {self.least} and {self.most}", "year")
        return value

    def write(self, value: date) -> str:
        """The day, year first."""
        return value.isoformat()


@dataclass(frozen=True)
class Month:
    """A calendar month, kept as its first day."""

    days: Day

    def read(self, text: str) -> date:
        """The first day of the month in a file or a command. Raises Wrong."""
        if not re.fullmatch(r"[0-9]{4}-(?:0[1-9]|1[0-2])", text):
            raise Wrong("is not a month written year first, such as 2027-03")
        return self.days.read(f"{text}-01")

    def write(self, value: date) -> str:
        """The month, year first."""
        return f"{value:%Y-%m}"


class Choice:
    """One of a few words, spelt exactly."""

    def __init__(self, values: Iterable[str]) -> None:
        self.values = tuple(values)

    def read(self, text: Any) -> str:
        """The word. Raises Wrong."""
        if not isinstance(text, str) or text not in self.values:
            raise Wrong(f"is not one of {', '.join(self.values)}")
        return text

    check, write = read, staticmethod(str)


_HOST_TOO_LONG = "names a host that is too long: in a mail, letters beyond a to z take the place of several"


def _as_mailed(email: str) -> bytes:
    """The address as mail servers have it, whose hosts are of the letters a to z. Raises Wrong."""
    name, _, host = email.rpartition("@")
    try:
        return name.encode() + b"@" + host.encode("idna")
    except UnicodeError:
        raise Wrong(_HOST_TOO_LONG) from None


class Email:
    """An e-mail address to which a mail can be sent, in lower case."""

    longest = 254

    def read(self, text: str) -> str:
        """The address. Raises Wrong."""
        email = text.strip().lower()
        if len(email) > self.longest:
            raise Wrong(f"is longer than {self.longest} characters")
        try:
            validate_email(email)
        except ValidationError:
            raise Wrong("is not an e-mail address such as ann@example.org") from None
        if len(_as_mailed(email)) > self.longest:
            raise Wrong(_HOST_TOO_LONG)
        return email

    write = staticmethod(str.lower)
