"""What the book knows of its people and of the co-op's settings."""

import hashlib
from collections.abc import Collection
from datetime import date, datetime

from allauth.mfa.models import Authenticator
from allauth.usersessions.models import UserSession
from django.db.models import Q

from instructors.models import Cooperative, Invitation, Member, Role


def cooperative() -> Cooperative:
    """The co-op's settings; an unsaved row with the defaults while nobody has changed any."""
    return Cooperative.objects.first() or Cooperative()


def active_members(on: date) -> list[Member]:
    """The members who have not left by ``on``, by name; the day of leaving still counts."""
    return list(Member.objects.filter(_not_left_by(on)))


def coordinators(on: date) -> list[Member]:
    """The coordinators who have not left by ``on``, by name."""
    return list(Member.objects.filter(_not_left_by(on), role=Role.COORDINATOR))


def _not_left_by(on: date) -> Q:
    return Q(left_on__isnull=True) | Q(left_on__gte=on)


def everybody() -> list[Member]:
    """All who are or were members, by name."""
    return list(Member.objects.all())


def members_with_ids(ids: Collection[int]) -> list[Member]:
    """The members with these ids, in the order in which they came into the book."""
    return list(Member.objects.filter(pk__in=ids).order_by("pk"))


def lacks_required_factor(coordinator: Member) -> bool:
    """Whether the co-op asks coordinators for a second factor that this one has not set up yet."""
    if not Cooperative.objects.filter(coordinators_need_second_factor=True).exists():
        return False
    factors = [Authenticator.Type.TOTP, Authenticator.Type.WEBAUTHN]
    return not Authenticator.objects.filter(user=coordinator, type__in=factors).exists()


def sessions_of(member: Member) -> list[UserSession]:
    """The browsers on which a member is signed in, the one seen last first; what has ended is forgotten."""
    sessions = UserSession.objects.purge_and_list(member)
    return sorted(sessions, key=lambda session: session.last_seen_at, reverse=True)


def open_invitations() -> list[Invitation]:
    """The invitations neither accepted nor withdrawn, with who sent them, newest first; too old or not."""
    return list(
        Invitation.objects.filter(accepted_at__isnull=True, withdrawn_at__isnull=True).select_related("invited_by")
    )


def member_with(email: str) -> Member | None:
    """Whoever has or had this address, whatever its case."""
    return Member.objects.filter(email__iexact=email).first()


def has_open_invitation(email: str) -> bool:
    """Whether an invitation to this address, whatever its case, is neither accepted nor withdrawn."""
    open_ones = Invitation.objects.filter(accepted_at__isnull=True, withdrawn_at__isnull=True)
    return open_ones.filter(email__iexact=email).exists()


def token_digest(token: str) -> str:
    """What is stored of the secret in an invitation's link: its SHA-256 digest, in hexadecimal."""
    return hashlib.sha256(token.encode()).hexdigest()


def invitation_by(token: str) -> Invitation | None:
    """The invitation whose newest link holds ``token``, whether or not it may still be accepted."""
    return Invitation.objects.select_related("invited_by").filter(token_digest=token_digest(token)).first()


def may_be_accepted(invitation: Invitation, at: datetime) -> bool:
    """Whether an invitation is neither accepted nor withdrawn, nor its link too old at the moment ``at``."""
    return invitation.accepted_at is None and invitation.withdrawn_at is None and at < invitation.expires_at
