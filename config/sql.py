"""Questions in plain SQL, where the mapper takes longer to write one than the database to answer it.

They are read by PostgreSQL and SQLite alike. Of values only numbers of rows are put into the text.
"""

from collections.abc import Iterable
from datetime import date
from decimal import Decimal
from typing import Any, NamedTuple

from django.db import connection


def listed(ids: Iterable[int]) -> str:
    """Return the numbers of rows as SQL lists them; no row has the number NULL."""
    return ", ".join(map(str, map(int, ids))) or "NULL"


class Question(NamedTuple):
    """A question in plain SQL and its values, which may be put into a larger one before it is asked."""

    sql: str
    values: tuple[date, ...]


def rows(sql: str, *values: date | Decimal | int | str) -> list[tuple[Any, ...]]:
    """Return what the database answers to a question with these values."""
    with connection.cursor() as cursor:
        cursor.execute(sql, values)
        return cursor.fetchall()


def day_of(value: date | str) -> date:
    """Return a day as a union or a raw query gives it: SQLite gives it as text."""
    return date.fromisoformat(value) if isinstance(value, str) else value
