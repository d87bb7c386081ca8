"""Numbers of rows as a short text, so that thousands of ticks travel in one field: 0-11,14,20-25."""

import re
from collections.abc import Iterable

_PART = re.compile(r"([0-9]{1,6})(?:-([0-9]{1,6}))?")


def write(places: Iterable[int]) -> str:
    """Return the text of some places."""
    parts: list[list[int]] = []
    for place in sorted(set(places)):
        if parts and place == parts[-1][1] + 1:
            parts[-1][1] = place
        else:
            parts.append([place, place])
    return ",".join(str(first) if first == last else f"{first}-{last}" for first, last in parts)


def read(text: str, below: int) -> set[int]:
    """Return the places below a bound in a text; what is no number is passed over, for nobody types it."""
    places: set[int] = set()
    for part in text.split(",")[:below]:
        if match := _PART.fullmatch(part):
            places.update(range(int(match[1]), min(int(match[2] or match[1]), below - 1) + 1))
    return {place for place in places if place < below}
