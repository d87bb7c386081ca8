"""Reads of the people and the co-op's settings."""

import hashlib
from collections.abc import Collection
from datetime import date, datetime

from allauth.mfa.models import Authenticator
from allauth.usersessions.models import UserSession
from django.db.models import Min, Q
from django.shortcuts import get_object_or_404
from django.utils.crypto import salted_hmac

from instructors.models import Cooperative, Invitation, Member, Role

#: In a question of another app: the last day in the co-op of the member whose number is in the column ``member``.
LAST_DAY_OF = "(SELECT left_on FROM instructors_member WHERE instructors_member.id = {member})"


def cooperative() -> Cooperative:
    """The co-op's settings; an unsaved row with the defaults if nobody has changed any. Nearly every page asks."""
    return next(iter(Cooperative.objects.raw(_SETTINGS)), None) or Cooperative()


_SETTINGS = "SELECT * FROM instructors_cooperative ORDER BY id LIMIT 1"


def active_members(on: date) -> list[Member]:
    """The members who have not left before ``on``, by name."""
    return list(Member.objects.filter(_not_left_by(on)))


def coordinators(on: date) -> list[Member]:
    """The coordinators who have not left before ``on``, by name."""
    return list(Member.objects.filter(_not_left_by(on), role=Role.COORDINATOR))


def _not_left_by(on: date) -> Q:
    return Q(left_on__isnull=True) | Q(left_on__gte=on)


def everybody() -> list[Member]:
    """All present and former members, by name."""
    return list(Member.objects.all())


def first_joining() -> date | None:
    """The first day on which anybody joined; None while nobody has a joining day."""
    first: date | None = Member.objects.aggregate(first=Min("joined_on"))["first"]
    return first


def member_or_404(pk: int) -> Member:
    """The member with this id, present or former; Http404 if there is none or they are erased.

    For pages of coordinators alone.
    """
    return get_object_or_404(Member, pk=pk, erased_at__isnull=True)


def members_with_ids(ids: Collection[int]) -> list[Member]:
    """The members with these ids, by id."""
    return list(Member.objects.filter(pk__in=ids).order_by("pk"))


def lacks_required_factor(coordinator: Member, settings: Cooperative) -> bool:
    """Whether the co-op asks coordinators for a second factor and this one has none yet."""
    if not settings.coordinators_need_second_factor:
        return False
    factors = [Authenticator.Type.TOTP, Authenticator.Type.WEBAUTHN]
    return not Authenticator.objects.filter(user=coordinator, type__in=factors).exists()


def sessions_of(member: Member) -> list[UserSession]:
    """The browsers on which a member is signed in, last seen first; ended sessions are deleted."""
    sessions = UserSession.objects.purge_and_list(member)
    return sorted(sessions, key=lambda session: session.last_seen_at, reverse=True)


def open_invitations() -> list[Invitation]:
    """The invitations neither accepted nor withdrawn, newest first, including those too old to accept."""
    return list(
        Invitation.objects.filter(accepted_at__isnull=True, withdrawn_at__isnull=True).select_related("invited_by")
    )


def member_with(email: str) -> Member | None:
    """The present or former member with this address; case does not count."""
    return Member.objects.filter(email__iexact=email).first()


def member_key(member: Member) -> str:
    """What a page calls its member where that is kept on a phone: it tells nobody there who it is.

    Whoever can work it out gets nothing by it: the session of a request says who is signed in, and this has to be the
    same. It is the same whatever SECRET_KEY is: once that has changed, a phone still knows whose is what it can't read.
    """
    return hashlib.sha256(f"book.member:{member.pk}".encode()).hexdigest()[:32]


def member_seal(member: Member) -> bytes:
    """The 32 bytes by which a phone seals what waits there to be sent, so that it opens for this member alone.

    Nothing keeps them: they follow from SECRET_KEY. With another key what waits can no longer be read.
    """
    return salted_hmac("book.seal", str(member.pk), algorithm="sha256").digest()


def open_invitation(email: str) -> Invitation | None:
    """The invitation to this address neither accepted nor withdrawn, if there is one; case does not count."""
    open_ones = Invitation.objects.filter(accepted_at__isnull=True, withdrawn_at__isnull=True)
    return open_ones.filter(email__iexact=email).first()


def token_digest(token: str) -> str:
    """The SHA-256 digest of the secret in an invitation's link, in hexadecimal; the secret itself is not stored."""
    return hashlib.sha256(token.encode()).hexdigest()


def invitation_by(token: str) -> Invitation | None:
    """The invitation whose newest link holds ``token``, even if it can no longer be accepted."""
    return Invitation.objects.select_related("invited_by").filter(token_digest=token_digest(token)).first()


def may_be_accepted(invitation: Invitation, at: datetime) -> bool:
    """Whether an invitation can be accepted at the moment ``at``: not accepted, withdrawn or too old."""
    return invitation.accepted_at is None and invitation.withdrawn_at is None and at < invitation.expires_at
