"""The backup of each day, and what is kept of every backup."""

import logging
from collections.abc import Iterable
from datetime import datetime

from django.conf import settings
from django.db import DatabaseError
from django.utils import timezone

from config.backup import Busy, Place, Refused, back_up_into
from instructors.models import BackupRun
from instructors.queries import count_of_unforeseen

logger = logging.getLogger(__name__)


def note_backup(
    *, made_at: datetime, place: str, size: int = 0, sha256: str = "", missing: Iterable[str] = (), error: str = ""
) -> bool:
    """Keep that a backup was made, or why it was not. False if the database cannot take that down just now.

    Of the files that are ``missing`` in it, those that are recorded as lost for good are not counted. A book that is
    backed up before its first migration has no table for it yet.
    """
    try:
        BackupRun.objects.create(
            made_at=made_at,
            ended_at=timezone.now(),
            place=place[:200],
            size=size,
            sha256=sha256,
            missing_count=count_of_unforeseen(missing),
            error=error[:200],
        )
    except DatabaseError:
        return False
    return True


def back_up_today(place: Place) -> None:
    """Make the backup of today in its place unless it is there, and keep how that went."""
    began = timezone.now()
    today = timezone.localdate(began)
    name = place.name_of(today)
    try:
        if place.has(today):
            return
        if not (settings.BACKUP_RECIPIENT or settings.EMBEDDED):
            raise Refused("BACKUP_RECIPIENT is not set, so nothing was written to another machine.")
        made = back_up_into(place, settings.BACKUP_RECIPIENT, today)
    except Busy:
        # The next hour finds out whether that one was for today.
        return
    except (Refused, OSError) as error:
        why = str(error) if isinstance(error, Refused) else f"{place}: {error.strerror or error}"
        logger.error("The backup of today failed: %s", why)
        note_backup(made_at=began, place=name, error=why)
        return
    note_backup(made_at=made.made_at, place=name, size=made.size, sha256=made.sha256, missing=made.missing)
