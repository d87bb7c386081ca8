"""The people of the co-op, its one row of settings, and the record of who did what to whom."""

from instructors.models.people import (
    EARLIEST_CLOSING_DAY,
    EARLIEST_REMINDER_HOUR,
    LATEST_CLOSING_DAY,
    LEAST_CONTRIBUTORS,
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
    "EARLIEST_CLOSING_DAY",
    "EARLIEST_REMINDER_HOUR",
    "LATEST_CLOSING_DAY",
    "LEAST_CONTRIBUTORS",
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
