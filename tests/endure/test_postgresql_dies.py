"""PostgreSQL ends as in a power cut (an immediate stop) in the middle of much that is written: all or nothing is there.

PostgreSQL is this test's own, and each piece of work is a process that goes on until it finds the database gone. Done
once more after the restart, the book is the same as where nothing happened.
"""

import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import NamedTuple

import psycopg
import pytest

from tests import run
from tests.flows.whole_book import contents
from tests.processes import BookProcess
from tests.schemas import copied_to
from tests.servers import PostgreSQL, short_folder

pytestmark = [
    pytest.mark.django_db(transaction=True),
    pytest.mark.skipif(not run.on_postgresql(), reason="SQLite is a file and has no server to stop"),
]
Start = Callable[..., BookProcess]
ARCHIVE = "tests/costing/sample_archive"
#: Rows of closed months and years that it brings.
CLOSED_IN_ARCHIVE = 4

#: Does what a command line says; after the first call of {where} it says so, and goes on once it may.
PAUSED = """
import os, sys, time
import django
django.setup()
import config.backup.making, costing.archive.writing, costing.closing, django.db.migrations
may_go_on, real, calls = sys.argv.pop(1), {where}, []
def pausing(*arguments, **named):
    done = real(*arguments, **named)
    calls.append(1)
    if len(calls) == 1:
        print("paused", flush=True)
        while not os.path.exists(may_go_on):
            time.sleep(0.05)
    return done
{where} = pausing
import manage
sys.argv[0] = "manage.py"
manage.main()
"""


class Work(NamedTuple):
    """A command, what it is interrupted after, and what has to be done before it."""

    command: tuple[str, ...]
    after: str
    before: tuple[str, ...] = ()


WORKS = {
    "loading": Work(("load_archive", ARCHIVE), "costing.archive.writing._write_completions"),
    "closing": Work(("load_archive", ARCHIVE, "--close"), "costing.closing._store"),
    "backing up": Work(
        ("backup", "--unencrypted", "--to", "BACKUP"), "config.backup.making._write_table", ("load_archive", ARCHIVE)
    ),
    "migrating": Work(
        ("migrate", "-v0"), "django.db.migrations.Migration.apply", ("migrate", "costing", "0023", "-v0")
    ),
}


class Book:
    """A book on a PostgreSQL of its own, and the commands that are run on it."""

    def __init__(self, start: Start, database: PostgreSQL, folder: Path, url: str) -> None:
        self.start, self.database, self.folder = start, database, folder
        self.variables = {"DATABASE_URL": url, "DATA_DIR": str(folder / "data")}

    def process(self, *arguments: str) -> BookProcess:
        named = [argument.replace("BACKUP", str(self.folder / "book.backup")) for argument in arguments]
        return self.start(*named, **self.variables)

    def does(self, *command: str) -> None:
        process = self.process("manage.py", *command)
        assert process.wait() == 0, process.output()

    def told(self) -> dict[str, bytes]:
        """All that its archive says."""
        out = self.folder / f"dump-{len(list(self.folder.iterdir()))}"
        self.does("dump_archive", str(out))
        return contents(out)

    def beside(self, name: str) -> "Book":
        """An empty book beside it, on the same server."""
        with psycopg.connect(host=str(self.database.folder), user="postgres", autocommit=True) as own:
            own.execute(f"CREATE DATABASE {name}")
        (self.folder / name).mkdir()
        other = Book(self.start, self.database, self.folder / name, self.database.url_of(name))
        other.does("migrate", "-v0")
        return other

    def rows(self, table: str) -> int:
        with psycopg.connect(host=str(self.database.folder), user="postgres", dbname="postgres") as own:
            [count] = own.execute(f"SELECT count(*) FROM {table}").fetchone()  # noqa: S608 - a name of ours
            return count


@pytest.fixture
def book(book_process: Start, tmp_path: Path) -> Iterator[Book]:
    database = PostgreSQL(short_folder() / "pg", lasting=True)
    database.folder.parent.chmod(0o711)
    database.start()
    yield Book(book_process, database, tmp_path, copied_to(database))
    database.stop()


def interrupt(book: Book, work: Work) -> None:
    """Begin the work, and let PostgreSQL die in the middle of it."""
    may_go_on = book.folder / "go on"
    process = book.process("-c", PAUSED.format(where=work.after), str(may_go_on), *work.command)
    process.wait_for_output("paused", seconds=120)
    book.database.die()
    os.close(os.open(may_go_on, os.O_CREAT))
    assert process.wait() == 1, process.output()
    if work.command[0] != "migrate":  # Django's own
        assert "Traceback" not in process.output()
    book.database.serve()


@pytest.mark.parametrize("name", ["loading", "closing"])
def test_what_it_was_writing_is_there_whole_or_not_at_all(name: str, book: Book) -> None:
    work = WORKS[name]
    interrupt(book, work)
    loaded, closed = book.rows("costing_fill"), book.rows("costing_groupfigure")
    # What the archive brings, months that are closed among it, was committed before it began to close.
    assert (loaded > 0, closed) == ((False, 0) if name == "loading" else (True, CLOSED_IN_ARCHIVE))
    for _ in range(2):
        book.does(*work.command)
    told = book.told()
    other = book.beside("undisturbed")
    other.does(*work.command)
    assert other.told() == told
    assert (book.rows("costing_groupfigure") > CLOSED_IN_ARCHIVE) is (name == "closing")


def test_the_backup_before_stays_and_the_next_is_whole(book: Book) -> None:
    work = WORKS["backing up"]
    book.does(*work.before)
    book.does(*work.command)
    good = (book.folder / "book.backup").read_bytes()
    interrupt(book, work)
    assert (book.folder / "book.backup").read_bytes() == good
    told = book.told()
    book.does(*work.command)
    assert (book.folder / "book.backup").read_bytes() != good
    restored = book.beside("restored")
    restored.does("restore", str(book.folder / "book.backup"))
    assert restored.told() == told


def test_a_release_goes_on_with_its_tables_at_the_next_start(book: Book) -> None:
    work = WORKS["migrating"]
    book.does(*work.before)
    interrupt(book, work)
    book.does(*work.command)
    book.does("load_archive", ARCHIVE)
    assert book.rows("costing_fill") > 0
