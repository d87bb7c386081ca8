"""What members change about their own signing in."""

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
from instructors.queries import has_open_invitation, member_with, sessions_of

_TAKEN = "This address cannot be yours here: somebody in the co-op has it, or is invited with it."


def refuse_taken_address(*, by: Member, email: str) -> None:
    """Raise ValidationError on ``email`` unless a member may take this address for their own."""
    if email.strip().lower() == by.email.lower():
        raise ValidationError({"email": "This is your address already."})
    if member_with(email.strip()) or has_open_invitation(email.strip()):
        raise ValidationError({"email": _TAKEN})


def change_address(*, by: Member, email: str) -> str:
    """Let a member be known and sign in by another address, which they have shown to be theirs; the old is returned.

    Raises ValidationError on ``email`` if it is another's by now, whatever its case.
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
        # allauth's own list of addresses opens the door too: whoever reads the old one's mail must not get in by it.
        EmailAddress.objects.filter(user=row).delete()
        record_act(
            by=row,
            kind=ActKind.SIGN_IN,
            concerns=row,
            field="email_changed",
            was=before,
            now=email,
            is_mailed=False,  # both addresses are told at once
        )
    by.email = email
    return before


def end_sessions(*, by: Member, sessions: Sequence[UserSession]) -> None:
    """Sign a member out where those of their sessions were; PermissionDenied if one is another's."""
    if any(session.user_id != by.pk for session in sessions):
        raise PermissionDenied
    for session in sessions:
        session.end()


def forget_factors(*, member: Member) -> int:
    """Take every passkey, authenticator app and recovery code off a member; how many there were.

    There is no acting member: whoever has the server does it. No page does, since a coordinator's word must not
    be enough to weaken another's sign-in.
    """
    with transaction.atomic():
        _, by_model = Authenticator.objects.filter(user=member).delete()
        count = by_model.get(Authenticator._meta.label, 0)
        if count:
            # Not mailed with it: the command itself does so.
            record_act(by=None, kind=ActKind.SIGN_IN, concerns=member, field="factors_forgotten", is_mailed=False)
    return count


def sign_out_everywhere(*, member: Member | None) -> int:
    """End all sessions of a member, or of everybody; how many there were."""
    if member is None:
        UserSession.objects.all().delete()
        return Session.objects.all().delete()[0]
    sessions = sessions_of(member)
    for session in sessions:
        session.end()
    return len(sessions)
