"""The people of the co-op, its settings, and the record of who did what."""

from instructors.models.backups import BackupDrill, BackupRun
from instructors.models.cleanings import Cleaning
from instructors.models.files import FilesPlace, LostFile
from instructors.models.people import (
    CLOSING_DAY,
    CONTRIBUTORS,
    REMINDER_HOUR,
    ROUNDING_CHOICES,
    ROUNDINGS,
    Cooperative,
    Grade,
    Invitation,
    Member,
    Nation,
    Role,
)
from instructors.models.record import Act, ActKind, ActMail

__all__ = [
    "CLOSING_DAY",
    "CONTRIBUTORS",
    "REMINDER_HOUR",
    "ROUNDINGS",
    "ROUNDING_CHOICES",
    "Act",
    "ActKind",
    "ActMail",
    "BackupDrill",
    "BackupRun",
    "Cleaning",
    "Cooperative",
    "FilesPlace",
    "Grade",
    "Invitation",
    "LostFile",
    "Member",
    "Nation",
    "Role",
]
