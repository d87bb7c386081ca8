"""Hours as people write them in a diary: 1.5, 1:30, 90 min, 1 h 30."""

import re
from decimal import ROUND_HALF_UP, Decimal

_CLOCK = re.compile(r"([0-9]{1,4}):([0-5][0-9])(?::00)?")
_PARTS = re.compile(
    r"(?:([0-9]{1,4}(?:\.[0-9]{1,6})?)\s*(?:hours?|hrs?|h))?\s*(?:([0-9]{1,5})\s*(?:minutes?|mins?|m)?)?"
)
_PLAIN = re.compile(r"[0-9]{0,5}\.?[0-9]{1,6}|[0-9]{1,5}\.")
_COMMA = re.compile(r"[0-9]{1,5},[0-9]{1,2}")


def read_minutes(text: str, *, in_minutes: bool = False) -> int | str | None:
    """Return the whole minutes in a cell, why it has none (as words after the column's name), or None if it is empty.

    A bare number is hours, or minutes if the column is ``in_minutes``.
    """
    bare = " ".join(text.lower().split())
    if not bare:
        return None
    if clock := _CLOCK.fullmatch(bare):
        return int(clock[1]) * 60 + int(clock[2])
    if _PLAIN.fullmatch(bare):
        figure = Decimal(bare)
        return _whole(figure if in_minutes else figure * 60)
    if _COMMA.fullmatch(bare):
        return f"“{text[:30]}” cannot be read for certain: write an hour and a half as 1.5 or 1:30"
    parts = _PARTS.fullmatch(bare)
    if parts and (parts[1] or parts[2]):
        return _whole(Decimal(parts[1] or 0) * 60) + int(parts[2] or 0)
    return f"“{text[:30]}” is not hours"


def _whole(minutes: Decimal) -> int:
    return int(minutes.quantize(Decimal(1), ROUND_HALF_UP))
