"""Databases whose tables are not those of this release, for processes to be started on."""

import sqlite3
from contextlib import closing
from pathlib import Path

import psycopg
from django.db import connection
from django.db.migrations.loader import MigrationLoader
from psycopg.sql import SQL, Identifier

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
    if run.on_postgresql():
        return _made(f"{own}_{name}", template=own)
    file = folder / f"{name}.sqlite3"
    # Not the file alone: what was written last may still lie beside it.
    with closing(sqlite3.connect(own)) as source, closing(sqlite3.connect(file)) as target:
        source.backup(target)
    return f"sqlite:///{file}"


def empty(name: str, folder: Path) -> str:
    """The address of a database without anything in it."""
    if run.on_postgresql():
        return _made(f"{connection.settings_dict['NAME']}_{name}", template="template1")
    return f"sqlite:///{folder / f'{name}.sqlite3'}"


def _made(name: str, *, template: str) -> str:
    where = {"host": str(run.postgresql().folder), "user": "postgres", "dbname": "postgres"}
    with psycopg.connect(**where, autocommit=True) as server:
        server.execute(SQL("DROP DATABASE IF EXISTS {}").format(Identifier(name)))
        server.execute(SQL("CREATE DATABASE {} TEMPLATE {}").format(Identifier(name), Identifier(template)))
    return run.postgresql().url_of(name)
