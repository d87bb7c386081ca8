"""Whether there is room on the disks that the book writes to."""

import os
import shutil
from collections.abc import Iterator
from pathlib import Path

from django.conf import settings
from django.db import connection

#: Bytes and files for which there must be room: some weeks of a small co-op's photos.
FREE_BYTES, FREE_FILES = 500_000_000, 1_000


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
