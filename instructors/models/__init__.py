"""The people of the co-op, its one row of settings, and the record of who did what to whom."""

from instructors.models.people import (
    CLOSING_DAY,
    CONTRIBUTORS,
    REMINDER_HOUR,
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
    "Act",
    "ActKind",
    "ActMail",
    "Cooperative",
    "Grade",
    "Invitation",
    "Member",
    "Nation",
    "Role",
]
