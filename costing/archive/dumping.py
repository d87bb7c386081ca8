"""The way out: the whole book, or one member's part of it, as the files of an archive.

The same book gives the same bytes, and so does a book that was loaded from them.
"""

import csv
import io
import os
import tempfile
from collections.abc import Collection, Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from zipfile import ZIP_DEFLATED, BadZipFile, ZipFile, ZipInfo

from django.db import connection, transaction

from costing.archive.cells import EMAIL
from costing.archive.recorded import Values, cover_ends, recorded
from costing.archive.sources import is_litter
from costing.archive.table import Table
from costing.archive.tables import CARS, COSTS, DUES, TABLE_OF, TABLES
from instructors.models import Member

_NO_TIME = (1980, 1, 1, 0, 0, 0)
_ON_UNIX, _ONLY_FOR_ITS_OWNER = 3, 0o600


@dataclass(frozen=True)
class Dump:
    """The files of an archive by name, and how many rows each has."""

    files: dict[str, bytes]
    row_count: dict[str, int]


class NotOurs(Exception):
    """What stands at the path is not an archive and is left alone; the message says what it is."""


def dump(owner: Member | None = None) -> Dump:
    """Return the book's standing rows; with ``owner``, only their own, without anybody else's address or money."""
    with _one_moment():
        tables = [table for table in TABLES if owner is None or not table.is_of_group]
        rows = {table.file: list(recorded(table, "standing", owner=owner)) for table in tables}
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
    return Dump(files, {file: len(lines) for file, lines in rows.items()})


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


def save(files: dict[str, bytes], path: Path) -> list[str]:
    """Write the files as a zip if ``path`` ends in .zip, else into a folder; only its owner can read them.

    Only an earlier archive is overwritten. Returns the names of other files in the folder, which stay as they are.
    Raises NotOurs if ``path`` is another sort of file, and OSError if it cannot be written.
    """
    if path.suffix.lower() == ".zip":
        _refuse_other_zip(path)
        path.parent.mkdir(parents=True, exist_ok=True)
        _replace({path: zipped(files)})
        return []
    if path.exists() and not path.is_dir():
        raise NotOurs(f"{path} is a file; an archive is a folder, or a file whose name ends in .zip.")
    path.mkdir(mode=0o700, parents=True, exist_ok=True)
    _replace({path / name: data for name, data in files.items()})
    for name in TABLE_OF.keys() - files.keys():
        (path / name).unlink(missing_ok=True)  # left by an earlier archive: this book no longer has its rows
    return sorted(name for name in os.listdir(path) if name not in files and not is_litter(name))


def _refuse_other_zip(path: Path) -> None:
    if not path.exists() or (path.is_file() and not path.stat().st_size):
        return
    try:
        with ZipFile(path) as archive:
            is_archive = set(archive.namelist()) <= TABLE_OF.keys()
    except (OSError, BadZipFile):
        is_archive = False
    if not is_archive:
        raise NotOurs(f"{path} exists and is not an archive of this book; it was left as it is.")


def _replace(targets: Mapping[Path, bytes]) -> None:
    """Replace the files once all the new bytes are on the disk, so that a full disk leaves the old files whole."""
    staged: list[tuple[str, Path]] = []
    try:
        for path, data in targets.items():
            handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
            staged.append((temporary, path))
            with os.fdopen(handle, "wb") as file:
                file.write(data)
        for temporary, path in staged:
            os.replace(temporary, path)
    finally:
        for temporary, _ in staged:
            Path(temporary).unlink(missing_ok=True)


def zipped(files: dict[str, bytes]) -> bytes:
    """Return the files as one zip; the same files always give the same bytes."""
    packed = io.BytesIO()
    with ZipFile(packed, "w") as archive:
        for name, data in files.items():
            info = ZipInfo(name, _NO_TIME)
            info.create_system, info.external_attr = _ON_UNIX, _ONLY_FOR_ITS_OWNER << 16
            archive.writestr(info, data, ZIP_DEFLATED)
    return packed.getvalue()
