"""A book written by each earlier release, by its own code, is the same once this release has been started on it."""

import csv
import os
import subprocess
import sys
import tarfile
from io import BytesIO, StringIO
from pathlib import Path

import pytest

from tests.processes import ROOT, BookProcess
from tests.run import SETTINGS_VARIABLES
from tests.schemas import empty
from tests.visiting import Visitor

SERVED = "The book is served at "
#: The state before the first tag, at which books in use began.
FIRST = "c32b9dd8"


def git(*arguments: str) -> bytes:
    """What git says; nothing where there is no git or no such commit, as in a copy without its history."""
    try:
        return subprocess.run(["git", *arguments], cwd=ROOT, capture_output=True, check=True).stdout  # noqa: S607
    except (OSError, subprocess.CalledProcessError):
        return b""


RELEASES = [FIRST, *git("tag", "--list", "v*").decode().split()]


@pytest.fixture
def environment(tmp_path: Path) -> dict[str, str]:
    """That of an embedded book on an empty database of its own."""
    inherited = {name: value for name, value in os.environ.items() if name not in SETTINGS_VARIABLES}
    (tmp_path / "var").mkdir()
    return inherited | {
        "DJANGO_SETTINGS_MODULE": "config.settings",
        "DATA_DIR": str(tmp_path / "var"),
        "DATABASE_URL": empty("older", tmp_path),
    }


def manage(folder: Path, environment: dict[str, str], *arguments: str) -> None:
    done = subprocess.run(
        [sys.executable, "manage.py", *arguments], cwd=folder, env=environment, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stdout + done.stderr


def served(folder: Path, environment: dict[str, str], log: Path) -> BookProcess:
    """The code in this folder, once it serves."""
    environment = environment | {"PYTHONUNBUFFERED": "1"}
    server = BookProcess(["manage.py", "serve", "127.0.0.1:0"], log=log, environment=environment, folder=folder)
    server.wait_for_output(SERVED, seconds=120)
    return server


def migrations_of(folder: Path) -> set[Path]:
    """Those of the code in this folder."""
    return {path.relative_to(folder) for path in folder.glob("*/migrations/0*.py")}


def rows_of(archive: Path) -> dict[str, list[dict[str, str]]]:
    """The rows of each file of an archive, in order."""
    return {file.name: list(csv.DictReader(StringIO(file.read_text()))) for file in sorted(archive.glob("*.csv"))}


@pytest.mark.parametrize("release", RELEASES)
def test_a_book_of_an_earlier_release_is_the_same_in_this_one_while_both_run(
    release: str, environment: dict[str, str], tmp_path: Path
) -> None:
    packed = git("archive", release)
    if not packed:
        pytest.skip("there is no history here to take the release from")
    old, before, after = (tmp_path / name for name in ("release", "before", "after"))
    with tarfile.open(fileobj=BytesIO(packed)) as files:
        files.extractall(old, filter="data")
    manage(old, environment, "migrate", "--verbosity=0")
    manage(old, environment, "load_archive", "tests/costing/sample_archive", "--close")
    manage(old, environment, "dump_archive", str(before))
    with served(old, environment, tmp_path / "1") as running, served(ROOT, environment, tmp_path / "2") as new:
        # A release may have the tables of this one already.
        assert ("bringing it to this one" in new.output()) is (migrations_of(old) != migrations_of(ROOT))
        for server in (running, new):
            visitor = Visitor(server.output().partition(SERVED)[2].split("/ ")[0])
            answer = visitor.send_form("/account/login/", {"login": "nobody@book.example", "password": "a wrong one"})
            assert answer.status == 200
            assert visitor.get("/health/").status in {200, 503}
            assert "Traceback" not in server.output()
    manage(ROOT, environment, "dump_archive", str(after))
    was, now = rows_of(before), rows_of(after)
    assert sum(map(len, was.values())) > 100
    for name, rows in was.items():
        # A later release may have more columns, and more files.
        assert [{column: row[column] for column in rows[0]} for row in now[name]] == rows if rows else True, name
