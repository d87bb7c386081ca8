"""The slips of whoever types a number or a day, undone: what may have been meant, the most usual first."""

from collections.abc import Iterator
from datetime import date
from itertools import pairwise
from typing import NamedTuple

#: How far a slip is from what was meant: by the point or a nought; by neighbours; by one digit; by another digit.
POINT, NEIGHBOUR, DIGIT, OTHER_DIGIT = 0, 1, 2, 3


class Slip(NamedTuple):
    """A value that may be meant, and how unusual the slip is that makes the typed one of it."""

    rank: int
    value: int


def undone(value: int, places: int) -> Iterator[Slip]:
    """What may be meant by a whole number of units, of which 10^``places`` make one: pence have two.

    A number may be typed ten or a hundred times too large or small, with a digit doubled, left out or wrong, or with
    two neighbours swapped. Its first digit is hardly left out. Nothing comes twice, and nothing is nought.
    """
    seen, unit = {value, 0}, 10**places
    # Without its point or a nought a number may have a fraction: nobody meant it rounded.
    exact = [value // times for times in (10, 100) if value % times == 0 and value // times % unit]
    for slip in _undone(value, places):
        is_rounded = slip.value % unit == 0 and any(abs(slip.value - one) < unit for one in exact)
        if slip.value not in seen and not is_rounded:
            seen.add(slip.value)
            yield slip


def _undone(value: int, places: int) -> Iterator[Slip]:
    for times in (10, 100):
        if value % times == 0:
            yield Slip(POINT, value // times)
        yield Slip(POINT, value * times)
    digits = as_text(value, places)
    numbers = [place for place, char in enumerate(digits) if char != "."]
    for place, after in pairwise(numbers):
        between = digits[place + 1 : after]
        yield from _read(
            NEIGHBOUR, f"{digits[:place]}{digits[after]}{between}{digits[place]}{digits[after + 1 :]}", places
        )
        if digits[place] == digits[after]:
            yield from _read(NEIGHBOUR, f"{digits[:place]}{between}{digits[after:]}", places)
    for place in numbers:
        yield from _read(DIGIT, digits[:place] + digits[place + 1 :], places)
    for place in range(1, len(digits) + 1):
        for digit in "0123456789":
            yield from _read(DIGIT, f"{digits[:place]}{digit}{digits[place:]}", places)
    for place in numbers:
        for digit in "0123456789":
            yield from _read(OTHER_DIGIT, f"{digits[:place]}{digit}{digits[place + 1 :]}", places)


def as_text(value: int, places: int) -> str:
    """A number of units as one types it: "15.9" of 1590 with two places."""
    if not places:
        return str(value)
    digits = str(value).rjust(places + 1, "0")
    return f"{digits[:-places]}.{digits[-places:]}".rstrip("0").rstrip(".")


def hours_as_text(minutes: int) -> str:
    """Minutes as one types hours: "7.5" of 450, "7:20" of 440."""
    return f"{minutes // 60}:{minutes % 60:02}" if minutes * 100 % 60 else as_text(minutes * 100 // 60, 2)


def _read(rank: int, text: str, places: int) -> Iterator[Slip]:
    """The number in a text, unless it has too many places or begins with a nought that nobody types."""
    whole, _, fraction = text.partition(".")
    if whole and len(fraction) <= places and (whole == "0" or whole[0] != "0"):
        yield Slip(rank, int(whole + fraction.ljust(places, "0")))


def days_meant(day: date) -> Iterator[tuple[int, date]]:
    """The days that may be meant by one, with ranks: another year, day and month swapped, another month."""
    for rank, year, month, number in (
        (POINT, day.year + 1, day.month, day.day),
        (POINT, day.year - 1, day.month, day.day),
        (NEIGHBOUR, day.year, day.day, day.month),
        (DIGIT, day.year, day.month + 1, day.day),
        (DIGIT, day.year, day.month - 1, day.day),
        (DIGIT, day.year + 1, day.day, day.month),
        (OTHER_DIGIT, day.year + 10, day.month, day.day),
        (OTHER_DIGIT, day.year - 10, day.month, day.day),
    ):
        try:
            meant = date(year, month, number)
        except ValueError:
            continue
        if meant != day:
            yield rank, meant
