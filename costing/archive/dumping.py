"""The way out: the whole book, or one member's part of it, as the files of an archive.

The same book gives the same bytes, and so does a book that was loaded from them.
"""

import csv
import io
from collections.abc import Collection, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field

from django.db import connection, transaction

from config.whole_files import KeptFile
from costing.archive.cells import EMAIL
from costing.archive.packing import Content
from costing.archive.pictures import pictures_in_the_book
from costing.archive.receipts import RECEIPTS, picture_of
from costing.archive.recorded import Values, cover_ends, recorded
from costing.archive.table import Table
from costing.archive.tables import CARS, COSTS, DUES, TABLE_OF, TABLES
from instructors.models import Member


@dataclass(frozen=True)
class Dump:
    """The files of an archive by name, and how many rows each has; and by their names the ``pictures`` of its receipts.

    ``lost`` is how many receipts are left out because their pictures are no longer among the book's files.
    """

    files: dict[str, bytes]
    row_count: dict[str, int]
    pictures: dict[str, KeptFile] = field(default_factory=dict)
    lost: int = 0

    @property
    def contents(self) -> dict[str, Content]:
        """The files and the pictures, by name."""
        return {**self.files, **self.pictures}


def dump(owner: Member | None = None) -> Dump:
    """Return the book's standing rows; with ``owner``, only their own, without anybody else's address or money."""
    with _one_moment():
        tables = [table for table in TABLES if owner is None or not table.is_of_group]
        rows = {table.file: list(recorded(table, "standing", owner=owner)) for table in tables}
        kept = pictures_in_the_book(owner)
        receipt_count = len(rows[RECEIPTS.file])
        rows[RECEIPTS.file] = [row for row in rows[RECEIPTS.file] if row["id"] in kept]
        pictures = {picture_of(row["id"]): kept[row["id"]] for row in rows[RECEIPTS.file]}
        # A reader that knows only the first ten files refuses others, but can read a book that needs no more.
        rows = {file: found for file, found in rows.items() if found or not TABLE_OF[file].is_later}
        marks = {car["registration"] for car in rows[CARS.file]}
        rows[DUES.file] += _dues_of_cover(rows[COSTS.file], marks, owner)
    if owner is not None:
        told = {EMAIL.tidy(owner.email), *(cost["ref"] for cost in rows[COSTS.file])}
        for car in rows[CARS.file]:
            car["keeper_email"] = EMAIL.tidy(owner.email)
        for file, found in rows.items():
            _leave_out_others(TABLE_OF[file], found, told)
    files = {file: _as_csv(TABLE_OF[file], found) for file, found in rows.items()}
    return Dump(files, {file: len(lines) for file, lines in rows.items()}, pictures, receipt_count - len(pictures))


def _leave_out_others(table: Table, rows: Iterable[Values], told: Collection[str]) -> None:
    """Empty the cells that name another member or another member's cost: any name that is not in ``told``."""
    private = (column for column in table.columns if column.is_doer or column.names_cost or column.names_another)
    names = [column.name for column in private]
    for values in rows:
        values.update({name: None for name in names if values[name] not in told})


@contextmanager
def _one_moment() -> Iterator[None]:
    """Let every query inside see the book as it was at the first one, whatever others write meanwhile."""
    is_outermost = not connection.in_atomic_block
    with transaction.atomic():
        if is_outermost and connection.vendor == "postgresql":
            with connection.cursor() as cursor:
                cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
        yield


def _dues_of_cover(costs: Iterable[Values], marks: set[str], owner: Member | None) -> Iterator[Values]:
    """Yield the due items that loading would add for cover alone, so that a second dump equals the first.

    If such an item was closed, its row has no day, so that loading does not bring it back.
    """
    kept = {(due["registration"], due["kind"]) for due in recorded(DUES, "standing", owner=owner)}
    closed = {(due["registration"], due["kind"]) for due in recorded(DUES, "dropped", owner=owner)}
    for (mark, kind), end in cover_ends(costs).items():
        if mark in marks and (mark, kind) not in kept:
            due = None if (mark, kind) in closed else end
            yield dict.fromkeys(DUES.names) | {"registration": mark, "kind": kind, "due_on": due}


def _as_csv(table: Table, rows: Iterable[Values]) -> bytes:
    kinds = [(column.name, column.kind) for column in table.columns]
    key = [(table.names.index(name), name in table.computed) for name in table.key]
    lines = [["" if row[name] is None else kind.write(row[name]) for name, kind in kinds] for row in rows]
    # Sorted here because the database's order depends on its language; computed keys are numbers.
    lines.sort(key=lambda line: [int(line[place]) if is_number else line[place] for place, is_number in key])
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(table.names)
    writer.writerows(lines)
    return text.getvalue().encode()
