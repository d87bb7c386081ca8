"""A drill: what the last backup is worth, found out by restoring it into a scratch book before it is ever needed.

A sealed backup cannot be opened where its secret key is not, and that is any server. Then its bytes are held against
their sum as they were written, and a copy in clear of this moment, made just as it was, is restored instead.
"""

import json
import shutil
import subprocess
import sys
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

from django.conf import settings

from config.backup import folder
from config.backup.faults import Refused
from config.backup.making import back_up_to
from config.backup.manifest import OfFile
from config.backup.places import Place
from config.backup.sealing import SEALED_MAGIC
from config.disk import FREE_BYTES
from config.lifeline import lifeline

#: Less than a task may take, so that what took too long is told.
_MOST_SECONDS = 12 * 60
#: Bytes on the disk for each byte of a backup: it, a copy, and what is restored of it.
_ROOM = 4


@dataclass(frozen=True)
class Drilled:
    """What a drill found; ``was_opened`` if the backup itself was restored, and not a copy in clear of ``made_at``."""

    was_opened: bool
    made_at: datetime | None = None
    rows: int = 0
    files: int = 0
    differences: tuple[str, ...] = ()


def drill(place: Place, day: date, *, size: int, sha256: str) -> Drilled:
    """Restore the backup of a day, noted with this size and sum, into a scratch book, and compare.

    Raises Busy if another drill or backup is made, Refused and OSError if there can be none; then nothing is known.
    """
    with folder.scratch_folder() as scratch:
        if shutil.disk_usage(scratch).free < _ROOM * size + FREE_BYTES:
            raise Refused("There is no room on the disk of the book's files to restore a backup beside them.")
        backup = scratch / "last.backup"
        try:
            total = _fetch(place, day, backup)
        except FileNotFoundError:
            return Drilled(was_opened=False, differences=(f"{place.name_of(day)} is not there any more.",))
        is_sealed = _begins_as_sealed(backup)
        if total != sha256:
            words = f"{place.name_of(day)} is not as it was written: it is cut, or was altered."
            return Drilled(was_opened=False, differences=(words,))
        if is_sealed:
            backup.unlink()
            back_up_to(backup, recipient="")
        return _restored(backup, scratch / "book", was_opened=not is_sealed)


def _fetch(place: Place, day: date, into: Path) -> str:
    """Copy the backup of a day to this machine; return its sum."""
    with place.open(day) as there, into.open("xb") as here:
        return OfFile.read(there, here.write).sha256


def _begins_as_sealed(backup: Path) -> bool:
    with backup.open("rb") as file:
        return file.read(len(SEALED_MAGIC)) == SEALED_MAGIC


def _restored(backup: Path, data: Path, *, was_opened: bool) -> Drilled:
    told = _told_by_scratch_book(backup, data)
    if "refused" in told:
        return Drilled(was_opened, differences=(told["refused"],))
    made_at = datetime.fromisoformat(told["made_at"])
    return Drilled(was_opened, made_at, told["rows"], told["files"], tuple(told["differences"]))


def _told_by_scratch_book(backup: Path, data: Path) -> dict[str, Any]:
    # Of our settings it gets none: no database, no store and no secret of the book.
    environment = {"DATA_DIR": str(data), "DJANGO_SETTINGS_MODULE": "config.settings", "LOG_LEVEL": "ERROR"}
    with lifeline() as life:
        try:
            ran = subprocess.run(  # noqa: S603 - ours
                [sys.executable, "-m", "config.scratch_book", str(backup)],
                cwd=settings.BASE_DIR,
                env=environment,
                stdin=life,
                capture_output=True,
                check=False,
                timeout=_MOST_SECONDS,
            )
        except subprocess.TimeoutExpired:
            raise Refused(f"It was not restored within {_MOST_SECONDS // 60} minutes.") from None
    if ran.returncode:
        reason = ran.stderr.decode(errors="replace").strip().splitlines()[-1:] or [f"status {ran.returncode}"]
        raise Refused(f"The scratch book broke off: {reason[0].rstrip('.')}.")
    told: dict[str, Any] = json.loads(ran.stdout)
    return told
