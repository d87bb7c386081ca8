"""Reads of the people, the co-op's settings, and the record of who did what."""

from instructors.queries.backups import backup_failed_since, last_backup
from instructors.queries.cleanings import cleanings
from instructors.queries.people import (
    LAST_DAY_OF,
    active_members,
    cooperative,
    coordinators,
    everybody,
    invitation_by,
    lacks_required_factor,
    may_be_accepted,
    member_key,
    member_or_404,
    member_seal,
    member_with,
    members_with_ids,
    open_invitation,
    open_invitations,
    sessions_of,
    token_digest,
)
from instructors.queries.record import act_traffic, has_act_on, late_changes, names_of, record_of, untold_mails

__all__ = [
    "LAST_DAY_OF",
    "act_traffic",
    "active_members",
    "backup_failed_since",
    "cleanings",
    "cooperative",
    "coordinators",
    "everybody",
    "has_act_on",
    "invitation_by",
    "lacks_required_factor",
    "last_backup",
    "late_changes",
    "may_be_accepted",
    "member_key",
    "member_or_404",
    "member_seal",
    "member_with",
    "members_with_ids",
    "names_of",
    "open_invitation",
    "open_invitations",
    "record_of",
    "sessions_of",
    "token_digest",
    "untold_mails",
]
