"""What somebody said a row means instead: a few of its values, as a text for the page, put in before it is checked."""

from collections.abc import Callable, Mapping
from typing import Any
from urllib.parse import parse_qsl, urlencode

from config import quantities
from costing.importing.core.rows import Row
from fleet.core.plausible.doubt import Change

#: By row number, its new values by the names that doubts have for them.
Amended = dict[int, dict[str, str]]

#: What each of these names is among a row's values, and how its text is read.
_READ: Mapping[str, tuple[str, Callable[[str], Any]]] = {
    "filled_on": ("day", quantities.DAY.read),
    "paid_on": ("day", quantities.DAY.read),
    "from_on": ("day", quantities.DAY.read),
    "to_on": ("to_day", quantities.DAY.read),
    "covers_from": ("covers_from", quantities.DAY.read),
    "covers_to": ("covers_to", quantities.DAY.read),
    "odometer": ("odometer", quantities.MILES.read),
    "quantity": ("quantity", quantities.FILL.read),
    "amount": ("amount", quantities.POUNDS.read),
    "lesson_count": ("count", quantities.COUNT.read),
    "minutes": ("minutes", quantities.HOURS.read_typed),
    "private_miles": ("private_miles", quantities.MILES.read),
    "brimmed": ("brimmed", bool),
    "gap_before": ("gap_before", bool),
    "refund": ("refund", bool),
    "on_the_day": ("on_the_day", bool),
}
#: Which of them a row of each kind has; under any other name nothing is meant.
_TOLD: Mapping[str, frozenset[str]] = {
    "cost": frozenset({"paid_on", "covers_from", "covers_to", "amount", "refund", "on_the_day"}),
    "fill": frozenset({"filled_on", "odometer", "quantity", "amount", "brimmed", "gap_before"}),
    "lessons": frozenset({"from_on", "to_on", "lesson_count", "minutes", "private_miles"}),
}
#: As many rows as can be put right on their page.
_MOST_CHANGES = 2_000


def may_be_taken(changes: tuple[Change, ...]) -> bool:
    """Whether a row can be put right by these changes: the day on which it is left out is no change of a row."""
    return bool(changes) and all(one.field in _READ for one in changes)


def as_text(number: int, changes: tuple[Change, ...]) -> str:
    """Return the text of a row's changes."""
    return urlencode({f"{number}.{one.field}": one.value for one in changes})


def read(text: str, kind: str) -> Amended:
    """Return the changes of rows of a kind in such a text, or in several joined by &; what is none is passed over."""
    found: Amended = {}
    try:
        pairs = parse_qsl(text, keep_blank_values=True, max_num_fields=_MOST_CHANGES)
    except ValueError:
        return found
    for name, value in pairs:
        number, _, field = name.partition(".")
        if field in _TOLD[kind] and number.isdecimal() and len(number) < 9:
            found.setdefault(int(number), {})[field] = value
    return found


def write(amended: Amended) -> str:
    """Return the text that ``read`` turns into the same changes."""
    return urlencode({f"{row}.{field}": value for row, changes in amended.items() for field, value in changes.items()})


def amend(row: Row, changes: Mapping[str, str]) -> None:
    """Put the changes into a row; one that cannot be read is passed over, because nobody types it."""
    for field, text in changes.items():
        name, read_text = _READ[field]
        try:
            value = read_text(text)
        except ValueError:
            continue
        if name == "refund":
            row.values["amount"] = abs(row.values["amount"]) * (-1 if value else 1) if "amount" in row.values else 0
        elif name == "amount":
            row.values[name] = -value if row.values.get(name, 0) < 0 else value
        else:
            row.values[name] = value
