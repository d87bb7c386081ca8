"""Changes to how members sign in."""

from collections.abc import Sequence

from allauth.account.models import EmailAddress
from allauth.mfa.models import Authenticator
from allauth.usersessions.models import UserSession
from django.contrib.sessions.models import Session
from django.core.exceptions import PermissionDenied, ValidationError
from django.db import IntegrityError, transaction

from config.history import lock
from instructors.actions import record_act
from instructors.models import ActKind, Member
from instructors.queries import member_with, open_invitation, sessions_of

_TAKEN = "You cannot use this address: somebody in the co-op has it already, or has been invited by it."


def refuse_taken_address(*, by: Member, email: str) -> None:
    """Raise ValidationError on ``email`` unless a member may take this address for their own."""
    if email.strip().lower() == by.email.lower():
        raise ValidationError({"email": "You sign in with this address already."})
    if member_with(email.strip()) or open_invitation(email.strip()):
        raise ValidationError({"email": _TAKEN})


def change_address(*, by: Member, email: str) -> str:
    """Change a member's address to one that they have proved is theirs, and return the old one.

    Raises ValidationError on ``email`` if it has become somebody else's in the meantime; case does not count.
    """
    email = email.strip().lower()
    with transaction.atomic():
        row = lock(by)
        refuse_taken_address(by=row, email=email)
        before, row.email = row.email, email
        try:
            with transaction.atomic():
                row.save(update_fields=["email"])
        except IntegrityError as error:  # somebody else at the same moment
            raise ValidationError({"email": _TAKEN}) from error
        # allauth also signs in by its own list of addresses, and mail to the old one may be read by somebody else.
        EmailAddress.objects.filter(user=row).delete()
        record_act(
            by=row,
            kind=ActKind.SIGN_IN,
            concerns=row,
            field="email_changed",
            was=before,
            now=email,
            is_mailed=False,  # the view mails both addresses
        )
    by.email = email
    return before


def end_sessions(*, by: Member, sessions: Sequence[UserSession]) -> None:
    """End these sessions of a member. Raises PermissionDenied if one is somebody else's."""
    if any(session.user_id != by.pk for session in sessions):
        raise PermissionDenied
    for session in sessions:
        session.end()


def forget_factors(*, member: Member) -> int:
    """Remove a member's passkeys, authenticator app and recovery codes, and return how many there were.

    Only a command does this, so there is no acting member. No page does: a coordinator must not be able to weaken
    another member's sign-in.
    """
    with transaction.atomic():
        _, by_model = Authenticator.objects.filter(user=member).delete()
        count = by_model.get(Authenticator._meta.label, 0)
        if count:
            # The command sends the mail itself.
            record_act(by=None, kind=ActKind.SIGN_IN, concerns=member, field="factors_forgotten", is_mailed=False)
    return count


def sign_out_everywhere(*, member: Member | None) -> int:
    """End all sessions of a member, or of everybody if None, and return how many there were."""
    if member is None:
        UserSession.objects.all().delete()
        return Session.objects.all().delete()[0]
    sessions = sessions_of(member)
    for session in sessions:
        session.end()
    return len(sessions)
