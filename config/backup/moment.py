"""One moment of the database, and the numbers that it has given to rows."""

from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager

from django.db import connection, transaction

from config.backup.tables import Table


@contextmanager
def one_moment() -> Iterator[None]:
    """All that is read inside is as it was at one moment, and nobody who writes waits for it."""
    if connection.vendor == "sqlite":
        # atomic() begins as a writer, which would keep all others waiting.
        _execute("BEGIN DEFERRED")
        try:
            _look()
            yield
        finally:
            _execute("ROLLBACK")
    else:
        with transaction.atomic():
            _execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
            _look()
            yield


def _look() -> None:
    """The first question fixes the moment."""
    _execute("SELECT 1 FROM django_migrations LIMIT 1")


def last_numbers(tables: Iterable[Table]) -> dict[str, int]:
    """By table, the last number given to a row, also if that row is gone: histories and links go by such numbers."""
    numbered = {table.name: table.numbered_by for table in tables if table.numbered_by}
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("SELECT name, seq FROM sqlite_sequence")
            return {name: last for name, last in cursor.fetchall() if name in numbered}
        found = {}
        for name, column in numbered.items():
            cursor.execute(
                "SELECT pg_sequence_last_value(pg_get_serial_sequence(%s, %s)::regclass)",
                [connection.ops.quote_name(name), column],
            )
            found[name] = cursor.fetchone()[0]
        return {name: last for name, last in found.items() if last is not None}


def go_on_from(tables: Iterable[Table], last: Mapping[str, int]) -> None:
    """No row gets a number again that one had before."""
    for table in tables:
        if column := table.numbered_by:
            highest = table.model._base_manager.order_by("-pk").values_list("pk", flat=True).first() or 0
            if number := max(highest, last.get(table.name, 0)):
                _set_last_number(table.name, column, number)


def _set_last_number(name: str, column: str, number: int) -> None:
    if connection.vendor == "sqlite":
        _execute("DELETE FROM sqlite_sequence WHERE name = %s", name)
        _execute("INSERT INTO sqlite_sequence (name, seq) VALUES (%s, %s)", name, number)
    else:
        quoted = connection.ops.quote_name(name)
        _execute("SELECT setval(pg_get_serial_sequence(%s, %s), %s)", quoted, column, number)


def have_to_oneself(tables: Iterable[Table]) -> None:
    """Nobody writes to these tables until the transaction ends; on SQLite nobody writes beside it anyhow."""
    if connection.vendor == "postgresql":
        # Checks of each row, on odometers and references, are planned while the tables are empty: without this
        # they would go on to read all rows each time.
        _execute("SET LOCAL enable_seqscan = off")
        names = ", ".join(connection.ops.quote_name(table.name) for table in tables)
        _execute(f"LOCK TABLE {names} IN EXCLUSIVE MODE")


def _execute(sql: str, *values: str | int) -> None:
    with connection.cursor() as cursor:
        cursor.execute(sql, values or None)
