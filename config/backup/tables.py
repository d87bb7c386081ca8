"""The book's tables as its database has them, and their rows as lines that any database takes back.

The models are those of the applied migrations, so that a newer release can back up a book before it migrates it.
"""

import base64
import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from functools import cached_property
from uuid import UUID

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import connection
from django.db.migrations.loader import MigrationLoader
from django.db.models import AutoField, CharField, Field, FileField, Model
from django.db.models.functions import Collate
from django.utils.duration import duration_string

from config.backup.faults import Refused
from config.schema import Standing, schema

#: Rows that are fetched at once.
_BATCH = 2_000


@dataclass(frozen=True)
class Table:
    """One table of the database."""

    model: type[Model]

    @property
    def name(self) -> str:
        return self.model._meta.db_table

    @cached_property
    def fields(self) -> dict[str, Field]:
        """By column."""
        stored = [field for field in self.model._meta.local_concrete_fields if not getattr(field, "generated", False)]
        return {str(field.column): field for field in stored}

    @property
    def numbered_by(self) -> str | None:
        """The column whose numbers the database gives, each once."""
        key = self.model._meta.pk
        return key.column if isinstance(key, AutoField) else None

    @property
    def _order(self) -> str | Collate:
        """By key; PostgreSQL would sort texts as a language does, and SQLite by their bytes."""
        is_text = isinstance(self.model._meta.pk, CharField)
        return Collate("pk", "C") if is_text and connection.vendor == "postgresql" else "pk"

    @property
    def is_empty(self) -> bool:
        return not self.model._base_manager.exists()

    def lines(self, columns: Sequence[str]) -> Iterator[bytes]:
        """Each row as a line of JSON, its values in the order of ``columns``; the same lines on either database."""
        names = [self.fields[column].attname for column in columns]
        rows = self.model._base_manager.order_by(self._order).values_list(*names)
        for row in rows.iterator(chunk_size=_BATCH):
            yield json.dumps(row, default=_as_text, separators=(",", ":")).encode() + b"\n"

    def put_in(self, columns: Sequence[str], lines: bytes) -> None:
        """Insert rows just as they were: no clock, number or file is touched."""
        fields = [self.fields[column] for column in columns]
        quote = connection.ops.quote_name
        into = f"{quote(self.name)} ({', '.join(map(quote, columns))})"
        try:
            rows = [
                [
                    field.get_db_prep_save(field.to_python(value), connection)
                    for field, value in zip(fields, row, strict=True)
                ]
                for row in map(json.loads, lines.splitlines())
            ]
        except (ValueError, TypeError, ValidationError) as error:
            raise Refused(f"A row of {self.name} cannot be read.") from error
        with connection.cursor() as cursor:
            # Names from the models; what a backup says are values.
            cursor.executemany(f"INSERT INTO {into} VALUES ({', '.join(['%s'] * len(columns))})", rows)  # noqa: S608

    def named_files(self) -> Iterator[str]:
        """The names of the files that its rows name."""
        for field in self.fields.values():
            if isinstance(field, FileField):
                names = self.model._base_manager.exclude(**{field.attname: ""}).values_list(field.attname, flat=True)
                yield from (name for name in names.iterator(chunk_size=_BATCH) if name)


def _as_text(value: object) -> object:
    """A value that JSON does not know, as its field reads it again, to the last microsecond and digit."""
    match value:
        case datetime() | date() | time():
            return value.isoformat()
        case timedelta():
            return duration_string(value)
        case Decimal() | UUID():
            return str(value)
        case bytes() | memoryview():
            return base64.b64encode(value).decode()
    raise TypeError(f"a {type(value).__name__} has no place in a backup")


def tables_of_book() -> dict[str, Table]:
    """By name: every table of a model that belongs to the book, as the applied migrations have made it.

    Raises Refused if the database is of a newer release, or has no tables yet.
    """
    found = schema()
    if found.standing in {Standing.AHEAD, Standing.EMPTY}:
        raise Refused(found.in_words())
    loader = MigrationLoader(connection)
    models = loader.project_state(sorted(found.applied)).apps.get_models(include_auto_created=True)
    managed = [Table(model) for model in models if model._meta.managed and not model._meta.proxy]
    of_book = [table for table in managed if table.model._meta.label not in settings.OF_THIS_INSTALLATION]
    return {table.name: table for table in sorted(of_book, key=lambda table: table.name)}
