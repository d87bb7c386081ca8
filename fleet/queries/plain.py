"""Plain SQL, for questions that nearly every page asks: the mapper takes ten times as long to write them."""

from collections.abc import Collection
from datetime import date


def places(ids: Collection[int]) -> str:
    """The placeholders of the ids inside the brackets of an IN; that of none holds for no row."""
    return ", ".join(["%s"] * len(ids)) or "NULL"


def day_of(value: date | str) -> date:
    """A day as a union or a raw query gives it: SQLite gives it as text."""
    return date.fromisoformat(value) if isinstance(value, str) else value
