"""Who may do what in the co-op."""

from django.core.exceptions import PermissionDenied

from instructors.models import Member


def require_coordinator(member: Member) -> None:
    """Raise PermissionDenied for a member without the role."""
    if not member.is_coordinator:
        raise PermissionDenied
