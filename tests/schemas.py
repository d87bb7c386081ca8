"""Databases whose tables are not those of this release, for processes to be started on."""

import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import psycopg
from django.db import connection
from django.db.migrations.loader import MigrationLoader

from tests import run


def without_tables(file: Path) -> str:
    """The address of an SQLite file that has all migrations by its own record, and no table of theirs."""
    known = MigrationLoader(None, load=False)
    known.load_disk()
    with closing(sqlite3.connect(file)) as database, database:
        database.execute("CREATE TABLE django_migrations (id INTEGER PRIMARY KEY, app TEXT, name TEXT, applied TEXT)")
        recorded = ((app, name, "2027-01-01") for app, name in known.disk_migrations)
        database.executemany("INSERT INTO django_migrations (app, name, applied) VALUES (?, ?, ?)", recorded)
    return f"sqlite:///{file}"


def copied(name: str, folder: Path) -> str:
    """The address of a copy of the test's own database; no connection to that may be in a transaction."""
    own = connection.settings_dict["NAME"]
    connection.close()
    if not run.on_postgresql():
        return f"sqlite:///{shutil.copyfile(own, folder / f'{name}.sqlite3')}"
    with psycopg.connect(
        host=str(run.postgresql().folder), user="postgres", dbname="postgres", autocommit=True
    ) as server:
        server.execute(f'DROP DATABASE IF EXISTS "{own}_{name}"')  # type: ignore[call-overload]
        server.execute(f'CREATE DATABASE "{own}_{name}" TEMPLATE "{own}"')  # type: ignore[call-overload]
    return run.postgresql().url_of(f"{own}_{name}")
