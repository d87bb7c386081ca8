"""Whatever stops the start is one sentence on standard error, whichever program starts the book."""

import os
import re
import socket
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import IO

import pytest

from tests.processes import ROOT
from tests.run import SETTINGS_VARIABLES
from tests.schemas import make_migrated_file, without_tables

CELERY = ("-m", "celery", "-A", "config")
GUNICORN = ("-m", "gunicorn", "config.wsgi", "--bind=127.0.0.1:0", "--no-control-socket")
#: gunicorn's own status of an application that cannot start is 3.
STARTS = [
    (("manage.py", "check"), 1),
    (("manage.py", "migrate"), 1),
    (("manage.py", "serve", "127.0.0.1:0"), 1),
    (("manage.py", "whats_due", "--json"), 1),
    ((*GUNICORN, "--preload"), 3),
    ((*CELERY, "worker", "--pool=solo"), 1),
    ((*CELERY, "inspect", "ping"), 1),
]
PERHAPS = "DEBUG: 'perhaps' is neither true nor false; use 1 or 0.\n"
EMPTY = "The database has no tables yet. Run `manage.py migrate`, then start again.\n"
SERVER = {"REDIS_URL": "redis://redis.invalid:6379/0", "SECRET_KEY": "for-this-test-only-" + "0123456789" * 3}


def started(arguments: tuple[str, ...], folder: Path, **variables: str) -> subprocess.CompletedProcess[str]:
    """What a process of the book says that has a folder of its own and these variables."""
    inherited = {name: value for name, value in os.environ.items() if name not in SETTINGS_VARIABLES}
    (folder / "static").mkdir(exist_ok=True)
    return subprocess.run(
        [sys.executable, *arguments],
        cwd=ROOT,
        env=inherited | {"DATA_DIR": str(folder), "DJANGO_SETTINGS_MODULE": "config.settings"} | variables,
        capture_output=True,
        text=True,
        timeout=300,
    )


@pytest.mark.parametrize(
    ("arguments", "status"), STARTS, ids=lambda one: " ".join(one) if isinstance(one, tuple) else ""
)
def test_a_wrong_setting_is_said_alone(arguments: tuple[str, ...], status: int, tmp_path: Path) -> None:
    found = started(arguments, tmp_path, DEBUG="perhaps")
    assert (found.returncode, found.stderr, found.stdout) == (status, PERHAPS, "")


@pytest.mark.parametrize(
    ("arguments", "status"),
    [((*GUNICORN, "--preload"), 3), ((*CELERY, "worker", "--pool=solo"), 1), ((*CELERY, "beat"), 1)],
)
def test_so_is_a_database_that_is_not_of_this_release(arguments: tuple[str, ...], status: int, tmp_path: Path) -> None:
    found = started(arguments, tmp_path, **SERVER)
    assert (found.returncode, found.stderr) == (status, EMPTY)


def test_a_web_process_that_is_not_preloaded_says_it_among_the_lines_of_its_server(tmp_path: Path) -> None:
    found = started(GUNICORN, tmp_path, **SERVER)
    assert found.returncode == 3, "it ends, and starts no worker again and again"
    assert found.stderr.count(EMPTY) == 1
    assert "Traceback" not in found.stderr


def test_a_web_process_that_cannot_keep_photos_does_not_start(tmp_path: Path) -> None:
    (tmp_path / "files").write_text("no folder")
    url = without_tables(tmp_path / "book.sqlite3")
    found = started((*GUNICORN, "--preload"), tmp_path, DATABASE_URL=url, **SERVER)
    assert found.returncode == 3
    assert re.fullmatch(r"DATA_DIR: the book's account cannot write into \S+/files \(.+\)\..*\n", found.stderr)


def test_a_database_whose_folder_is_gone_is_said_plainly(tmp_path: Path) -> None:
    found = started(("manage.py", "serve"), tmp_path, DATABASE_URL=f"sqlite:///{tmp_path}/gone/book.sqlite3")
    assert found.returncode == 1
    assert found.stderr == (
        "The database cannot be reached (unable to open database file). `manage.py doctor` says more.\n"
    )


def test_so_is_one_that_is_damaged(tmp_path: Path) -> None:
    (tmp_path / "book.sqlite3").write_bytes(b"no database" * 1000)
    found = started(("manage.py", "serve", "127.0.0.1:0"), tmp_path)
    assert found.returncode == 1
    assert found.stderr == "The database cannot be read (file is not a database). `manage.py doctor` says more.\n"


@pytest.mark.parametrize("address", ["127.0.0.1:{taken}", "192.0.2.7:8000", "127.0.0.1:99999"])
def test_so_is_an_address_at_which_nothing_can_be_served(address: str, tmp_path: Path) -> None:
    make_migrated_file(tmp_path / "book.sqlite3")
    with socket.create_server(("127.0.0.1", 0)) as taken:
        wanted = address.format(taken=taken.getsockname()[1])
        found = started(("manage.py", "serve", wanted), tmp_path)
    assert found.returncode == 1
    assert re.fullmatch(
        rf"The book cannot be served at {wanted} \(.+\)\. Stop what is served there, or name another:"
        r" `manage\.py serve HOST:PORT`\.\n",
        found.stderr,
    ), found.stderr


def test_so_are_static_files_that_nobody_collected(tmp_path: Path) -> None:
    url = without_tables(tmp_path / "book.sqlite3")
    found = started((*GUNICORN, "--preload"), tmp_path, DATABASE_URL=url, STATIC_FILES_COLLECTED="1")
    assert (found.returncode, found.stderr) == (
        3,
        f"No static files lie in {tmp_path}/static: run `manage.py collectstatic`.\n",
    )


def printed_to(output: IO[bytes] | None, arguments: Sequence[str], folder: Path) -> subprocess.CompletedProcess[bytes]:
    """What a command ends with that prints to ``output``; None closes it, as a shell's ``>&-`` does."""
    inherited = {name: value for name, value in os.environ.items() if name not in SETTINGS_VARIABLES}
    close = ["sh", "-c", 'exec "$@" >&-', "sh"] if output is None else []
    return subprocess.run(
        [*close, sys.executable, "manage.py", *arguments],
        cwd=ROOT,
        env=inherited | {"DATA_DIR": str(folder), "DJANGO_SETTINGS_MODULE": "config.settings"},
        stdout=output,
        stderr=subprocess.PIPE,
        timeout=300,
    )


@pytest.mark.parametrize("arguments", [("diffsettings",), ("help", "--commands"), ("sqlmigrate", "costing", "0001")])
def test_a_command_whose_output_nobody_reads_on_ends_without_a_word(arguments: tuple[str, ...], tmp_path: Path) -> None:
    reading, writing = os.pipe()
    os.close(reading)  # as head does, once it has read enough
    with os.fdopen(writing, "wb") as output:
        found = printed_to(output, arguments, tmp_path)
    # As a shell has it of any program that is ended by SIGPIPE.
    assert (found.returncode, found.stderr) == (141, b"")


@pytest.mark.parametrize("arguments", [("backup", "--to", "-"), ("dump_archive", "out"), ("whats_due",), ("check",)])
def test_so_is_an_output_that_is_closed(arguments: tuple[str, ...], tmp_path: Path) -> None:
    found = printed_to(None, arguments, tmp_path)
    assert (found.returncode, found.stderr) == (
        2,
        b"Standard output is closed: lead it to a file, to a program or to /dev/null.\n",
    )


@pytest.mark.parametrize("arguments", [("check",), ("diffsettings",), ("backup", "--new-key", "-")])
def test_so_is_an_output_without_room(arguments: tuple[str, ...], tmp_path: Path) -> None:
    with Path("/dev/full").open("wb") as full:
        found = printed_to(full, arguments, tmp_path)
    assert found.returncode == 1
    assert re.fullmatch(rb"[^\n]*: No space left on device\.?\n", found.stderr), found.stderr
