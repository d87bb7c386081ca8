"""Loading a large archive, beside reading the same rows and writing them into the same tables, nothing looked at."""

import csv
import gc
import io
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from django.core.management import call_command
from django.db import connection, transaction
from django.db.backends.utils import CursorWrapper

from bench.growth import peak
from bench.measuring import Figure, Work, compared, ratio, work_of
from costing.archive.loading import load
from costing.archive.tables import TABLES
from manage import LOOKED_THROUGH_AT

#: Times what csv and executemany take for the same files, and megabytes in all.
MOST_OF_ARCHIVE, MOST_MEMORY = 5, 200
#: How a cell of the plain rows says that there is none; an empty one is an empty text.
_NULL = "\\N"


def archive() -> Iterator[Figure]:
    """Dump the large book, then load it into an empty one, in a process of its own: its peak of memory is asked."""
    with tempfile.TemporaryDirectory() as folder:
        book = Path(folder) / "book"
        call_command("dump_archive", str(book), stdout=io.StringIO())
        # The made-up defects were closed by nobody, which no archive may say.
        (book / "defects.csv").unlink()
        code = f"import django; django.setup(); from bench.archive import load_dump; load_dump({str(book)!r})"
        done = subprocess.run(
            [sys.executable, "-c", code], env=os.environ, stdout=subprocess.PIPE, text=True, check=True
        )
    words, times, megabytes = done.stdout.splitlines()
    yield Figure(words, too_dear(float(times)))
    yield Figure(f"peak memory of that: {megabytes} MB", too_large(int(megabytes)))


def load_dump(book: str) -> None:
    """Load a folder into an emptied book. Print the work beside its base, their ratio, and the peak of memory."""
    folder = Path(book)
    gc.set_threshold(LOOKED_THROUGH_AT)  # as the command has it
    call_command("flush", interactive=False, verbosity=0)
    work = work_of(lambda: load(folder))
    megabytes = peak()
    with tempfile.TemporaryDirectory() as plain:
        rows, base = _base(_plain_rows(folder, Path(plain)))
    print(compared(f"loading {rows:,} rows of an archive", work, "csv and executemany of the same rows", base))
    print(ratio(work, base))
    print(f"{megabytes:.0f}")


def _plain_rows(folder: Path, plain: Path) -> list[Path]:
    """Write the rows that came of a folder's files as CSV files, one of each table by its name, as they are loaded.

    They are the tables' own columns, so that they can be written again as they stand.
    """
    files = [plain / table.model._meta.db_table for table in TABLES if (folder / table.file).exists()]
    for file in files:
        sql = f"COPY {file.name} TO STDOUT (FORMAT csv, HEADER, NULL '{_NULL}')"
        with file.open("wb") as into, connection.cursor() as cursor, cursor.copy(sql) as rows:
            into.writelines(rows)
    return files


def _base(files: list[Path]) -> tuple[int, Work]:
    """How many rows there are, and what it takes to read them and write them into the emptied tables of the book.

    These have the same keys, checks, indexes and triggers for both, and both commit once. What the book writes beside
    the rows, their histories above all, is no part of it.
    """
    call_command("flush", interactive=False, verbosity=0)
    counts: list[int] = []

    def write() -> None:
        with transaction.atomic(), connection.cursor() as cursor:
            counts.extend(_written(cursor, file) for file in files)

    work = work_of(write)
    return sum(counts), work


def _written(cursor: CursorWrapper, path: Path) -> int:
    """Write a file into the table of its name; return how many rows it has."""
    with path.open(newline="") as file:
        header, *cells = csv.reader(file)
    rows = [[None if cell == _NULL else cell for cell in row] for row in cells]
    columns, places = ", ".join(map(connection.ops.quote_name, header)), ", ".join(["%s"] * len(header))
    cursor.executemany(f"INSERT INTO {path.name} ({columns}) VALUES ({places})", rows)  # noqa: S608 - our tables
    return len(rows)


def too_dear(times: float) -> str:
    """Whether loading takes too many times its base, in words; empty if not."""
    words = f"loading an archive takes {times:.1f} times csv and executemany, at most {MOST_OF_ARCHIVE} are allowed"
    return words * (times > MOST_OF_ARCHIVE)


def too_large(megabytes: int) -> str:
    """Whether loading takes too much memory, in words; empty if not."""
    words = f"loading an archive takes {megabytes} MB at its peak, at most {MOST_MEMORY} are allowed"
    return words * (megabytes > MOST_MEMORY)
