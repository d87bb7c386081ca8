"""That no process starts on the tables of another release, and how a database is brought to those of this one.

A process looks once, as it starts: one query. Migrations only ever expand what the release before uses (see "Change a
table" in DEVELOPERS.md), so its processes, which are running still, may go on beside those of this one.
"""

import fcntl
import os
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from datetime import datetime
from pathlib import Path

from django.conf import settings
from django.core.management import call_command
from django.core.management.commands import migrate
from django.db import DatabaseError, OperationalError, connection
from django.db.migrations.recorder import MigrationRecorder
from django.db.models import Max

from config.backup import Folder, Refused, place_of_backups
from config.refusal import CannotStart
from config.schema import Schema, Standing, schema
from config.showing import counted
from config.sql import rows

#: Seconds to wait for a database that does not answer yet, as after a power cut. gunicorn ends a worker after 30.
PATIENCE = 20
#: The backup that is made before the tables of a book in use are changed; the next one takes its place.
BEFORE_MIGRATING = "before-migrating.backup"
#: By which PostgreSQL knows the lock on migrating: any number that nothing else in this database uses.
_LOCK = 7_405_142_001


def last_migrated_at() -> datetime | None:
    """When the database's tables were last changed; None if it has none."""
    at: datetime | None = MigrationRecorder(connection).migration_qs.aggregate(at=Max("applied"))["at"]
    return at


@contextmanager
def connection_closed_again() -> Iterator[None]:
    """Within it the database is asked by a process that may fork afterwards."""
    was_open = connection.connection is not None
    try:
        yield
    finally:
        if not was_open:
            connection.close()


def require_current() -> None:
    """Look whether a process may start. Raises CannotStart with what to do.

    A database that does not answer is waited for.
    """
    with connection_closed_again():
        if words := _schema_soon().in_words():
            raise CannotStart(words)


def bring_up_to_date(say: Callable[[str], object], *, may_migrate: bool) -> None:
    """Migrate unless the database is up to date. Raises CannotStart if it is ahead, or not ``may_migrate``."""
    found = _schema_soon()
    if found.standing is Standing.UP_TO_DATE:
        return
    if not may_migrate:
        raise CannotStart(found.in_words())
    with migrating(say):
        call_command(migrate.Command(), interactive=False, verbosity=0)


@contextmanager
def migrating(say: Callable[[str], object] = lambda words: None) -> Iterator[None]:
    """Hold the lock by which one process at a time migrates, and say what is to be done; the next finds it done.

    Raises CannotStart if the database is ahead of this release, which then knows too little of it.
    """
    _schema_soon()
    with _locked():
        found = schema()
        if found.standing is Standing.AHEAD:
            raise CannotStart(found.in_words())
        if found.standing is Standing.EMPTY:
            say("The database is empty: making its tables.")
        if found.standing is Standing.BEHIND:
            steps = counted(len(found.missing), "step")
            say(f"The database is of an earlier release: bringing it to this one ({steps}).")
            before_migrating(say)
        yield


def is_being_migrated() -> bool:
    """Whether another process makes or changes the tables right now. It is not waited for."""
    if connection.vendor == "postgresql":
        with suppress(DatabaseError):
            if not rows("SELECT pg_try_advisory_lock(%s)", _LOCK)[0][0]:
                return True
            rows("SELECT pg_advisory_unlock(%s)", _LOCK)
        return False
    with suppress(OSError), _opened_folder() as folder:
        try:
            fcntl.flock(folder, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return True
    return False


def before_migrating(say: Callable[[str], object]) -> None:
    """Back up a book in use before its tables are changed, with the lock held, and say where to.

    Raises CannotStart if that fails, which leaves the database as it is. A server without a place for backups has
    none made here, and is told so.
    """
    place = place_of_backups() or (Folder(settings.DATA_DIR) if settings.EMBEDDED else None)
    if place is None or not (settings.EMBEDDED or settings.BACKUP_RECIPIENT):
        say("No backup is made first, because BACKUP_FOLDER or BACKUP_URL, and BACKUP_RECIPIENT, are not both set.")
        return
    path = f"{place}/{BEFORE_MIGRATING}"
    try:
        place.make(BEFORE_MIGRATING, settings.BACKUP_RECIPIENT)
    except (Refused, OSError) as error:
        why = str(error) if isinstance(error, Refused) else f"{path}: {error.strerror or error}."
        raise CannotStart(
            f"The book is backed up before its tables change, and that failed. Nothing was changed. {why}"
        ) from error
    say(f"Backed up to {path} first.")


def _schema_soon() -> Schema:
    give_up_at = time.monotonic() + PATIENCE
    while True:
        try:
            return schema()
        except DatabaseError as error:
            is_silent = isinstance(error, OperationalError)
            # A file is there or not; a server may be about to answer.
            if connection.vendor == "sqlite" or not is_silent or time.monotonic() > give_up_at:
                said = " ".join(str(error).split())
                raise CannotStart(
                    f"The database cannot be {'reached' if is_silent else 'read'} ({said})."
                    " `manage.py doctor` says more."
                ) from error
            connection.close()
            time.sleep(0.5)


@contextmanager
def _locked() -> Iterator[None]:
    """The lock, for as long as this process lives at the most."""
    if connection.vendor == "postgresql":
        # Asked again and again: whoever waited inside a query would stop an index from being built concurrently.
        while not rows("SELECT pg_try_advisory_lock(%s)", _LOCK)[0][0]:
            time.sleep(0.2)
        try:
            yield
        finally:
            # A connection that has broken has let go already.
            with suppress(DatabaseError):
                rows("SELECT pg_advisory_unlock(%s)", _LOCK)
        return
    with _opened_folder() as folder:
        fcntl.flock(folder, fcntl.LOCK_EX)
        yield


@contextmanager
def _opened_folder() -> Iterator[int]:
    """The folder of the database and not its file, whose locks SQLite itself would lose."""
    folder = os.open(Path(connection.settings_dict["NAME"]).resolve().parent, os.O_RDONLY)
    try:
        yield folder
    finally:
        os.close(folder)
