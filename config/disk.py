"""Whether there is room on the disks that the book writes to."""

import os
import shutil
from collections.abc import Iterator
from pathlib import Path

from django.conf import settings
from django.db import OperationalError, connection, transaction

from config.broken import is_full
from config.sql import rows

#: Bytes and files for which there must be room: some weeks of a small co-op's photos.
FREE_BYTES, FREE_FILES = 500_000_000, 1_000
DATABASE_IS_FULL = "The disk of the database is full: make room there."
#: Keeps 16 MB, as much as PostgreSQL makes room for at once in its log, with so little memory that all of it goes to
#: its disk, into a file that goes with the statement. It takes 17 ms of CPU time; to sort as much takes 60.
_LITTLE_MEMORY = "SELECT set_config('work_mem', '64kB', true)"
_KEPT_ON_DISK = (
    "WITH kept AS MATERIALIZED (SELECT repeat('x', 8000) FROM generate_series(1, 2000)) SELECT count(*) FROM kept"
)


def too_full() -> str:
    """What is too full and what to do, in one sentence that names no folder; empty if there is room."""
    for what, folder in _places():
        try:
            room, files = shutil.disk_usage(folder), os.statvfs(folder)
        except OSError as error:
            return f"The disk of {what} cannot be looked at ({error.strerror}): is it mounted?"
        if room.free < FREE_BYTES:
            return f"Only {_mb(room.free)} of {_mb(room.total)} is free on the disk of {what}: make room."
        if files.f_files and files.f_favail < FREE_FILES:
            return f"Only {files.f_favail} more files have room on the disk of {what}: delete small files there."
    return "" if connection.vendor == "sqlite" else _too_full_for_postgresql()


def _too_full_for_postgresql() -> str:
    """The same of the disk of another server, which only PostgreSQL itself can find out: by writing to it."""
    try:
        with transaction.atomic():
            rows(_LITTLE_MEMORY)
            rows(_KEPT_ON_DISK)
    except OperationalError as error:
        # That it does not answer at all is said elsewhere.
        return DATABASE_IS_FULL if is_full(error) else ""
    return ""


def room_left() -> str:
    """How much room there is for the book's files."""
    room = shutil.disk_usage(settings.MEDIA_ROOT)
    return f"{_mb(room.free)} of {_mb(room.total)} is free."


def _places() -> Iterator[tuple[str, Path]]:
    yield "the book's files", Path(settings.MEDIA_ROOT)
    if connection.vendor == "sqlite":
        yield "the database", Path(connection.settings_dict["NAME"]).resolve().parent


def _mb(size: int) -> str:
    return f"{size // 1_000_000:,} MB"
