"""Inviting somebody, and accepting an invitation.

An action that refuses raises a ``ValidationError`` by field, in words for the person who asked.
"""

import secrets
from datetime import timedelta
from typing import Any
from uuid import uuid4

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils import timezone

from config.history import lock
from config.mail import refusal_words, send_rendered
from config.showing import day
from config.site import address_of
from instructors.actions.people import require_coordinator
from instructors.actions.record import record_act
from instructors.models import ActKind, Grade, Invitation, Member
from instructors.queries import (
    cooperative,
    may_be_accepted,
    member_with,
    open_invitation,
    token_digest,
)

#: How long the link of an invitation works.
INVITATION_LIFE = timedelta(days=14)
_ALREADY_INVITED = "This address has been invited already: send that invitation again, or withdraw it first."


class MailRefused(Exception):
    """The mail server did not take an invitation; the message is what the server said.

    ``link`` is the link of the invitation. It works.
    """

    def __init__(self, said: str, *, link: str) -> None:
        super().__init__(said)
        self.link = link


def invite_member(*, by: Member, email: str, name: str, role: str, grade: str) -> Invitation:
    """Record an invitation; ``renew_link`` then makes its first working link.

    Raises ValidationError on ``email`` if the address is a member's or has an open invitation.
    """
    require_coordinator(by)
    email = email.strip().lower()
    _refuse_known_address(email)
    return _record(email, invited_by=by, name=name, role=role, grade=grade)


def invite_from_server(*, email: str, name: str, role: str) -> tuple[Invitation, str]:
    """Invite somebody as whoever runs the server, and return the invitation with the link; nothing is mailed.

    Nobody is signed in, so there is no acting member: thus the first coordinator comes in. An invitation that is open
    to the address gets this role and a new link. Raises ValidationError on ``email`` if it is a member's.
    """
    email = email.strip().lower()
    invitation = open_invitation(email)
    if invitation:
        invitation.role = role
        invitation.save(update_fields=["role"])
    else:
        _refuse_known_address(email)
        invitation = _record(email, invited_by=None, name=name, role=role, grade=Grade.ADI)
    link = _link_of(_with_new_token(invitation))
    invitation.refresh_from_db()
    return invitation, link


def _record(email: str, **told: Any) -> Invitation:
    invitation = Invitation(
        email=email,
        token_digest=token_digest(secrets.token_urlsafe(32)),
        expires_at=timezone.now() + INVITATION_LIFE,
        **told,
    )
    try:
        with transaction.atomic():
            invitation.save(force_insert=True)
    except IntegrityError as error:  # a second tap, or another coordinator at the same moment
        raise ValidationError({"email": _ALREADY_INVITED}) from error
    return invitation


def _refuse_known_address(email: str) -> None:
    member = member_with(email)
    if member and member.left_on:
        left = f"{member.name}, who left on {day(member.left_on)}"
        raise ValidationError(
            {"email": f"This is the address of {left}. To bring them back, choose their name on the People page."}
        )
    if member:
        raise ValidationError({"email": f"This is the address of {member.name}, who is already a member."})
    if open_invitation(email):
        raise ValidationError({"email": _ALREADY_INVITED})


def renew_link(*, by: Member, invitation: Invitation) -> str:
    """Make a new link that works for 14 days, and return its secret; earlier links stop working.

    The caller mails the secret next, so never call this inside a transaction. Raises ValidationError if the invitation
    has been accepted or withdrawn.
    """
    require_coordinator(by)
    return _with_new_token(invitation)


def _with_new_token(invitation: Invitation) -> str:
    token = secrets.token_urlsafe(32)
    with transaction.atomic(durable=True):
        row = _locked_open_invitation(invitation)
        row.token_digest = token_digest(token)
        row.expires_at = timezone.now() + INVITATION_LIFE
        row.save(update_fields=["token_digest", "expires_at"])
    return token


def send_invitation(*, by: Member, invitation: Invitation) -> str:
    """Send an invitation by e-mail with a new link, and return the link.

    The book keeps the link nowhere: without a mail server somebody has to pass it on. Raises MailRefused with the mail
    server's words if the server did not take the mail, in which case the invitation still stands, and ValidationError
    if the invitation has been accepted or withdrawn.
    """
    link = _link_of(renew_link(by=by, invitation=invitation))
    invitation.refresh_from_db()
    mail_invitation(invitation, link)
    return link


def _link_of(token: str) -> str:
    return address_of("instructors:accept-invitation", token)


def mail_invitation(invitation: Invitation, link: str) -> None:
    """Mail an invitation with its link. Raises MailRefused."""
    context = {"invitation": invitation, "cooperative": cooperative(), "link": link}
    try:
        send_rendered("instructors/mail/invitation", context, to=invitation.email, message_id=uuid4())
    except OSError as error:
        raise MailRefused(refusal_words(error), link=link) from error


def withdraw_invitation(*, by: Member, invitation: Invitation) -> None:
    """Stop an invitation's link from working. Raises ValidationError if it has been accepted or withdrawn."""
    require_coordinator(by)
    with transaction.atomic():
        row = _locked_open_invitation(invitation)
        row.withdrawn_at = timezone.now()
        row.save(update_fields=["withdrawn_at"])


def _locked_open_invitation(invitation: Invitation) -> Invitation:
    row = lock(invitation)
    if row.accepted_at:
        raise ValidationError(f"{row.name} has accepted this invitation.")
    if row.withdrawn_at:
        raise ValidationError(f"The invitation to {row.name} has been withdrawn.")
    return row


def accept_invitation(*, invitation: Invitation, name: str, password: str) -> Member:
    """Make a member who joins today of the person with the link, which then stops working.

    Nobody is signed in, so there is no acting member. Raises ValidationError if the invitation can no longer be
    accepted or its address has become a member's.
    """
    with transaction.atomic():
        row = _locked_open_invitation(invitation)
        if row.token_digest != invitation.token_digest or not may_be_accepted(row, timezone.now()):
            raise ValidationError("This link no longer works. Ask your coordinator to send you a new one.")
        try:
            with transaction.atomic():
                member = Member.objects.create_user(
                    row.email,
                    password,
                    name=name,
                    role=row.role,
                    grade=row.grade,
                    joined_on=timezone.localdate(),
                )
        except IntegrityError as error:
            raise ValidationError("You are a member already: sign in with this e-mail address.") from error
        row.accepted_at = timezone.now()
        row.save(update_fields=["accepted_at"])
        record_act(by=None, kind=ActKind.PERSON, concerns=member, field="joined", is_mailed=False)
    return member
