"""Books whose database is not that of this release, opened by real processes: they work, or say the one thing to do."""

from collections.abc import Callable
from pathlib import Path

import pytest

from config.backup import looks_like_backup
from config.release import BEFORE_MIGRATING
from instructors.models import Member
from tests.processes import BookProcess
from tests.schemas import copied
from tests.visiting import Visitor

Start = Callable[..., BookProcess]
EMBEDDED = {"REDIS_URL": "", "EMAIL_URL": ""}
SERVED = "The book is served at "
#: Two migrations before the newest: what they add is missing, and can be taken back at once.
OLDER = ("costing", "0023")


@pytest.fixture
def start(book_process: Start, tmp_path: Path) -> Start:
    """A function that starts a process of an embedded book on a copy of the test's database."""
    (tmp_path / "var").mkdir()
    own = EMBEDDED | {"DATABASE_URL": copied("book", tmp_path), "DATA_DIR": str(tmp_path / "var")}

    def start(*arguments: str, **variables: str) -> BookProcess:
        return book_process(*arguments, **own | variables)

    return start


@pytest.fixture
def older(keeper: Member, start: Start) -> Start:
    """The same on a book of an earlier release, with a member in it."""
    command = start("manage.py", "migrate", *OLDER, "--verbosity=0")
    assert command.wait() == 0, command.output()
    return start


def health(server: BookProcess) -> int:
    server.wait_for_output(SERVED)
    return Visitor(server.output().partition(SERVED)[2].split("/ ")[0]).get("/health/").status


def test_an_older_book_is_backed_up_brought_to_this_release_and_works(
    older: Start, keeper: Member, tmp_path: Path
) -> None:
    with older("manage.py", "serve", "127.0.0.1:0") as server:
        assert health(server) in {200, 503}
        assert "The database is of an earlier release: bringing it to this one (" in server.output()
        before = tmp_path / "var" / BEFORE_MIGRATING
        assert f"Backed up to {before} first." in server.output()
        assert before.stat().st_size
        assert looks_like_backup(before)
        assert server.output().count("\n") == 3
        site = server.output().partition(SERVED)[2].split("/ ")[0]
        assert Visitor(site).get("/account/login/").status == 200
    members = older("manage.py", "whats_due", "--json")
    assert members.wait() == 0, members.output()
    with older("manage.py", "serve", "127.0.0.1:0") as again:
        again.wait_for_output(SERVED)
        assert "earlier release" not in again.output()


#: Starts the book, changes the tables as the first migration says, and never gets to committing that.
HANG = """
import time
from django.db.migrations import Migration
apply = Migration.apply
def hang(*arguments, **named):
    apply(*arguments, **named)
    print("hangs", flush=True)
    time.sleep(600)
Migration.apply = hang
import manage
manage.main()
"""


def test_one_that_is_killed_while_it_migrates_is_brought_on_by_the_next(older: Start, tmp_path: Path) -> None:
    with older("-c", HANG, "serve", "127.0.0.1:0") as first:
        first.wait_for_output("hangs")
        first.kill()
    assert looks_like_backup(tmp_path / "var" / BEFORE_MIGRATING)
    with older("manage.py", "serve", "127.0.0.1:0") as server:
        assert health(server) in {200, 503}
        assert "bringing it to this one" in server.output()
        assert "Traceback" not in server.output()


def test_a_book_that_cannot_be_backed_up_is_left_as_it_is(older: Start, tmp_path: Path) -> None:
    server = older("manage.py", "serve", "127.0.0.1:0", BACKUP_FOLDER=str(tmp_path / "not there"))
    assert server.wait() == 1
    assert "The book is backed up before its tables change, and that failed" in server.output()
    assert "Traceback" not in server.output()
    refused = older("manage.py", "serve", "127.0.0.1:0", MIGRATE_AT_START="0")
    assert refused.wait() == 1
    assert "it lacks costing.0024" in refused.output()


def test_two_that_start_at_once_migrate_it_once(older: Start) -> None:
    with older("manage.py", "serve", "127.0.0.1:0") as one, older("manage.py", "serve", "127.0.0.1:0") as other:
        assert health(one) == health(other)
        said = one.output() + other.output()
    assert said.count("bringing it to this one") == 1
    assert "Traceback" not in said


def test_where_it_is_not_to_migrate_it_says_how(older: Start) -> None:
    server = older("manage.py", "serve", "127.0.0.1:0", MIGRATE_AT_START="0")
    assert server.wait() == 1
    assert "it lacks costing.0024" in server.output()
    assert server.output().endswith("Run `manage.py migrate`, then start again.\n")
    assert server.output().count("\n") == 1
    migrated = older("manage.py", "migrate", "--verbosity=0")
    assert migrated.wait() == 0, migrated.output()
    with older("manage.py", "serve", "127.0.0.1:0", MIGRATE_AT_START="0") as again:
        assert health(again) in {200, 503}


@pytest.fixture
def newer(start: Start, transactional_db: None, tmp_path: Path) -> Start:
    """The same on a book of a later release."""
    record = (
        "from django.db import connection; from django.db.migrations.recorder import MigrationRecorder; "
        "MigrationRecorder(connection).record_applied('costing', '0999_of_a_later_release')"
    )
    command = start("manage.py", "shell", "--no-imports", "-c", record)
    assert command.wait() == 0, command.output()
    return start


@pytest.mark.parametrize(
    ("arguments", "status"),
    [
        (("manage.py", "serve", "127.0.0.1:0"), 1),
        (("manage.py", "migrate"), 1),
        (("-m", "gunicorn", "config.wsgi", "--preload", "--bind=127.0.0.1:0", "--no-control-socket"), 3),
    ],
)
def test_a_newer_book_is_refused_in_one_line(arguments: tuple[str, ...], status: int, newer: Start) -> None:
    process = newer(*arguments)
    assert process.wait() == status
    assert process.output() == (
        "The database is of a newer release of the book: it has costing.0999_of_a_later_release, which this one does"
        " not know. Start that release instead.\n"
    )


def test_worker_and_beat_leave_it_to_others_to_migrate(older: Start, redis_url: str, tmp_path: Path) -> None:
    roles = ["worker", "--pool=solo"], ["beat", f"--schedule={tmp_path / 'beat'}", "--pidfile="]
    for process in [older("-m", "celery", "-A", "config", *role, REDIS_URL=redis_url) for role in roles]:
        assert process.wait() == 1
        assert process.output().endswith("Run `manage.py migrate`, then start again.\n")
        assert "Traceback" not in process.output()
