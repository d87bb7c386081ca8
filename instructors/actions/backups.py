"""What is kept of each backup."""

from datetime import datetime

from django.db import DatabaseError
from django.utils import timezone

from instructors.models import BackupRun


def note_backup(*, made_at: datetime, place: str, size: int = 0, missing_count: int = 0, error: str = "") -> bool:
    """Keep that a backup was made, or why it was not. False if the database cannot take that down just now.

    A book that is backed up before its first migration has no table for it yet.
    """
    try:
        BackupRun.objects.create(
            made_at=made_at,
            ended_at=timezone.now(),
            place=place[:200],
            size=size,
            missing_count=missing_count,
            error=error[:200],
        )
    except DatabaseError:
        return False
    return True
