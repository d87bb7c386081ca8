"""Reads of the people, the co-op's settings, and the record of who did what."""

from instructors.queries.people import (
    active_members,
    cooperative,
    coordinators,
    everybody,
    has_open_invitation,
    invitation_by,
    lacks_required_factor,
    may_be_accepted,
    member_key,
    member_or_404,
    member_with,
    members_with_ids,
    open_invitations,
    sessions_of,
    token_digest,
)
from instructors.queries.record import has_act_on, late_changes, names_of, record_of, untold_mails

__all__ = [
    "active_members",
    "cooperative",
    "coordinators",
    "everybody",
    "has_act_on",
    "has_open_invitation",
    "invitation_by",
    "lacks_required_factor",
    "late_changes",
    "may_be_accepted",
    "member_key",
    "member_or_404",
    "member_with",
    "members_with_ids",
    "names_of",
    "open_invitations",
    "record_of",
    "sessions_of",
    "token_digest",
    "untold_mails",
]
