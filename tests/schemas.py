"""Databases for tests, and for processes that they start: of this release, of an earlier one, or without any tables.

To migrate one takes fifteen seconds of a processor: it is done once a run, and what comes of it is copied.
"""

import fcntl
import os
import shutil
import sqlite3
import subprocess
import sys
import threading
from contextlib import closing
from pathlib import Path
from typing import Any

import psycopg
import pytest
from django.core.management import call_command
from django.db import connection
from django.db.migrations.loader import MigrationLoader
from psycopg.sql import SQL, Identifier

from config.commands import DataSaysNo
from config.release import migrating
from tests import run
from tests.processes import ROOT
from tests.servers import PostgreSQL, program

_MIGRATE = ["migrate", "-v0"]


def without_tables(file: Path) -> str:
    """The address of an SQLite file that has all migrations by its own record, and no table of theirs."""
    known = MigrationLoader(None, load=False)
    known.load_disk()
    with closing(sqlite3.connect(file)) as database, database:
        database.execute("CREATE TABLE django_migrations (id INTEGER PRIMARY KEY, app TEXT, name TEXT, applied TEXT)")
        recorded = ((app, name, "2027-01-01") for app, name in known.disk_migrations)
        database.executemany("INSERT INTO django_migrations (app, name, applied) VALUES (?, ?, ?)", recorded)
    return f"sqlite:///{file}"


def make_migrated(name: str) -> None:
    """Make the database of tests of that name, with all tables and nothing of theirs in them."""
    if run.on_postgresql():
        _made(name, template=_kept("migrated", _MIGRATE))
    else:
        make_migrated_file(Path(name))


def make_migrated_file(file: Path) -> None:
    """The same as a file of SQLite, whatever the tests run on."""
    shutil.copy(_kept_file("migrated", _MIGRATE), file)


def copied(name: str, folder: Path) -> str:
    """The address of a copy of the test's own database; no connection to that may be in a transaction."""
    own = connection.settings_dict["NAME"]
    connection.close()
    if run.on_postgresql():
        return _made(f"{own}_{name}", template=own)
    file = folder / f"{name}.sqlite3"
    # Not the file alone: what was written last may still lie beside it.
    with closing(sqlite3.connect(own)) as source, closing(sqlite3.connect(file)) as target:
        source.backup(target)
    return f"sqlite:///{file}"


def _kept_file(name: str, command: list[str]) -> Path:
    """An SQLite file of the run, which the first to ask for it makes by a command of the book."""
    file = run.folder() / f"{name}.sqlite3"
    _once(file.name, f"sqlite:///{file}", command)
    return file


def _kept(name: str, command: list[str]) -> str:
    """The name of a database on the run's PostgreSQL, made likewise."""
    _once(name, run.postgresql().url_of(name), command)
    return name


def _once(what: str, address: str, command: list[str]) -> None:
    with (run.folder() / f"{what}.made").open("a") as made:
        fcntl.flock(made, fcntl.LOCK_EX)
        # Not as it was when it was opened: another process may have had it meanwhile.
        if made.seek(0, os.SEEK_END) == 0:
            if address.startswith("postgres"):
                _made(what, template="template1")
            own = os.environ | {"DJANGO_SETTINGS_MODULE": "config.settings", "DATABASE_URL": address}
            subprocess.run([sys.executable, "manage.py", *command], cwd=ROOT, env=own, check=True)
            made.write("yes")


def copied_to(server: PostgreSQL) -> str:
    """The address of a copy of the test's own database on another server."""
    source = ["-h", str(run.postgresql().folder), "-U", "postgres", str(connection.settings_dict["NAME"])]
    copy = subprocess.run([program("pg_dump", "postgresql"), *source], capture_output=True, check=True)
    target = ["-h", str(server.folder), "-U", "postgres", "--quiet", "postgres"]
    subprocess.run([program("psql", "postgresql"), *target], input=copy.stdout, capture_output=True, check=True)
    return server.url_of("postgres")


def empty(name: str, folder: Path) -> str:
    """The address of a database without anything in it."""
    if run.on_postgresql():
        return _made(f"{connection.settings_dict['NAME']}_{name}", template="template1")
    return f"sqlite:///{folder / f'{name}.sqlite3'}"


def said_while_migrating(*command: Any, **options: Any) -> list[str]:
    """With what a command refuses while another thread holds the lock by which tables are made or changed."""
    said: list[str] = []

    def second() -> None:
        with pytest.raises(DataSaysNo) as refusal:
            call_command(*command, skip_checks=True, **options)
        said.append(str(refusal.value))
        connection.close()

    with migrating():
        asking = threading.Thread(target=second)
        asking.start()
        asking.join()
    return said


def _made(name: str, *, template: str) -> str:
    folder = str(run.postgresql().folder)
    with psycopg.connect(host=folder, user="postgres", dbname="postgres", autocommit=True) as server:
        server.execute(SQL("DROP DATABASE IF EXISTS {}").format(Identifier(name)))
        server.execute(SQL("CREATE DATABASE {} TEMPLATE {}").format(Identifier(name), Identifier(template)))
    return run.postgresql().url_of(name)
