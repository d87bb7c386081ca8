"""Loading a large archive, beside reading the same files and writing their cells with nothing checked."""

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
from manage import LOOKED_THROUGH_AT

#: Times what csv and executemany take for the same files, and megabytes in all.
MOST_OF_ARCHIVE, MOST_MEMORY = 5, 200


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
    rows, base = _base(folder)
    print(compared(f"loading {rows:,} rows of an archive", work, "csv and executemany", base))
    print(ratio(work, base))
    print(f"{megabytes:.0f}")


def _base(folder: Path) -> tuple[int, Work]:
    """How many rows there are, and what it takes to read them and write their cells as they stand."""
    counts: list[int] = []

    def write() -> None:
        with transaction.atomic(), connection.cursor() as cursor:
            counts.extend(_written(cursor, path) for path in sorted(folder.glob("*.csv")))

    work = work_of(write)
    return sum(counts), work


def _written(cursor: CursorWrapper, path: Path) -> int:
    """Write a file into a table of its own; return how many rows it has."""
    with path.open(newline="") as file:
        header, *rows = csv.reader(file)
    columns, places = ", ".join(f'"{name}" text' for name in header), ", ".join(["%s"] * len(header))
    cursor.execute(f"CREATE TEMP TABLE plain_{path.stem} ({columns}) ON COMMIT DROP")
    cursor.executemany(f"INSERT INTO plain_{path.stem} VALUES ({places})", rows)  # noqa: S608 - names of our files
    return len(rows)


def too_dear(times: float) -> str:
    """Whether loading takes too many times its base, in words; empty if not."""
    words = f"loading an archive takes {times:.1f} times csv and executemany, at most {MOST_OF_ARCHIVE} are allowed"
    return words * (times > MOST_OF_ARCHIVE)


def too_large(megabytes: int) -> str:
    """Whether loading takes too much memory, in words; empty if not."""
    words = f"loading an archive takes {megabytes} MB at its peak, at most {MOST_MEMORY} are allowed"
    return words * (megabytes > MOST_MEMORY)
