"""The people of the co-op, its one row of settings, and the record of who did what to whom."""

from instructors.models.people import (
    EARLIEST_REMINDER_HOUR,
    LEAST_CONTRIBUTORS,
    Cooperative,
    Grade,
    Invitation,
    Member,
    Nation,
    Role,
)
from instructors.models.record import Act, ActKind, ActMail

__all__ = [
    "EARLIEST_REMINDER_HOUR",
    "LEAST_CONTRIBUTORS",
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
