"""Every change to the people, their invitations and the co-op's settings.

Each action is one transaction; what the book does not allow is a ``ValidationError`` keyed by the field it
belongs to, in words for the person who asked.
"""

import secrets
import smtplib
from datetime import date, timedelta
from decimal import Decimal
from uuid import uuid4

from django.conf import settings
from django.core.exceptions import PermissionDenied, ValidationError
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone

from config.mail import send_rendered
from config.showing import day
from instructors.models import EARLIEST_REMINDER_HOUR, Cooperative, Invitation, Member, Role
from instructors.queries import (
    cooperative,
    has_open_invitation,
    may_be_accepted,
    member_with,
    token_digest,
)

#: How long the link in an invitation's mail works.
INVITATION_LIFE = timedelta(days=14)
_ALREADY_INVITED = "This address has an invitation already: send that one again, or withdraw it first."


class MailRefused(Exception):
    """A message could not be handed to the mail server; its text is what the server said."""


def invite_member(*, by: Member, email: str, name: str, role: str, grade: str) -> Invitation:
    """Record an invitation; nobody holds a working link until ``renew_link`` has made one for its mail.

    Raises ValidationError on ``email`` if the address is a member's or has an invitation open.
    """
    _require_coordinator(by)
    email = email.strip().lower()
    _refuse_known_address(email)
    invitation = Invitation(
        email=email,
        name=name,
        role=role,
        grade=grade,
        invited_by=by,
        token_digest=token_digest(secrets.token_urlsafe(32)),
        expires_at=timezone.now() + INVITATION_LIFE,
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
        raise ValidationError({"email": f"This is the address of {left}: record there that they are back."})
    if member:
        raise ValidationError({"email": f"This is already the address of {member.name}, who is a member."})
    if has_open_invitation(email):
        raise ValidationError({"email": _ALREADY_INVITED})


def renew_link(*, by: Member, invitation: Invitation) -> str:
    """Make the secret of a fresh link, good for 14 days from now, and return it; earlier links stop working.

    Never to be called inside a transaction, since its caller sends the secret by mail next. Raises
    ValidationError if the invitation has been accepted or withdrawn.
    """
    _require_coordinator(by)
    token = secrets.token_urlsafe(32)
    with transaction.atomic(durable=True):
        row = _locked_open_invitation(invitation)
        row.token_digest = token_digest(token)
        row.expires_at = timezone.now() + INVITATION_LIFE
        row.save(update_fields=["token_digest", "expires_at"])
    return token


def send_invitation(*, by: Member, invitation: Invitation) -> None:
    """Send an invitation's e-mail, with a fresh link; the invitation stands whether or not it can be sent.

    Raises MailRefused, in the mail server's words, if it could not be handed over; ValidationError if the
    invitation has been accepted or withdrawn.
    """
    token = renew_link(by=by, invitation=invitation)
    invitation.refresh_from_db()
    link = settings.SITE_URL + reverse("instructors:accept-invitation", args=[token])
    context = {"invitation": invitation, "cooperative": cooperative(), "link": link}
    try:
        send_rendered("instructors/mail/invitation", context, to=invitation.email, message_id=uuid4())
    except OSError as error:
        raise MailRefused(_in_words(error)) from error


def _in_words(error: OSError) -> str:
    """What a mail server, or the way to it, said."""
    answer: tuple[int, bytes | str]
    if isinstance(error, smtplib.SMTPRecipientsRefused):
        answer = next(iter(error.recipients.values()))
    elif isinstance(error, smtplib.SMTPResponseException):
        answer = (error.smtp_code, error.smtp_error)
    else:
        return str(error) or type(error).__name__
    code, said = answer
    return f"{code} {said.decode(errors='replace') if isinstance(said, bytes) else said}"


def withdraw_invitation(*, by: Member, invitation: Invitation) -> None:
    """Stop an invitation's link from working; ValidationError if it has been accepted or withdrawn."""
    _require_coordinator(by)
    with transaction.atomic():
        row = _locked_open_invitation(invitation)
        row.withdrawn_at = timezone.now()
        row.save(update_fields=["withdrawn_at"])


def _locked_open_invitation(invitation: Invitation) -> Invitation:
    row = Invitation.objects.select_for_update(of=("self",)).get(pk=invitation.pk)
    if row.accepted_at:
        raise ValidationError(f"{row.name} has accepted this invitation in the meantime.")
    if row.withdrawn_at:
        raise ValidationError(f"This invitation of {row.name} has been withdrawn.")
    return row


def accept_invitation(*, invitation: Invitation, name: str, password: str) -> Member:
    """Turn an invitation into a member who joins today; the link works once.

    There is no acting member: whoever holds the link acts. Raises ValidationError if the invitation is over
    or its address has become a member's.
    """
    with transaction.atomic():
        row = _locked_open_invitation(invitation)
        if row.token_digest != invitation.token_digest or not may_be_accepted(row, timezone.now()):
            raise ValidationError("This link does not work any more. Ask your coordinator to send a new one.")
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
            raise ValidationError("This e-mail address is a member's already: sign in instead.") from error
        row.accepted_at = timezone.now()
        row.save(update_fields=["accepted_at"])
    return member


def change_member(*, by: Member, member: Member, name: str, role: str, grade: str, joined_on: date | None) -> Member:
    """Correct a member's name, role, grade or day of joining.

    Not the e-mail address: whoever may change it could have a sign-in code sent to themselves and read that
    member's costs. Raises ValidationError on ``role`` if no coordinator would be left.
    """
    _require_coordinator(by)
    with transaction.atomic():
        row = _locked_member(member)
        if role != Role.COORDINATOR:
            _require_another_coordinator(row, "role")
        if joined_on and row.left_on and joined_on > row.left_on:
            raise ValidationError({"joined_on": f"{row.name} left on {day(row.left_on)}, before this day."})
        row.name, row.role, row.grade, row.joined_on = name, role, grade, joined_on
        row.save(update_fields=["name", "role", "grade", "joined_on"])
    return row


def record_leaving(*, by: Member, member: Member, left_on: date) -> Member:
    """Record a member's last day in the co-op; from the day after they cannot sign in and get no reminders.

    Their records stay. Raises ValidationError on ``left_on`` if it lies before they joined, or if no
    coordinator would be left.
    """
    _require_coordinator(by)
    with transaction.atomic():
        row = _locked_member(member)
        _require_another_coordinator(row, "left_on")
        if row.joined_on and left_on < row.joined_on:
            raise ValidationError({"left_on": f"{row.name} joined on {day(row.joined_on)}, after this day."})
        row.left_on = left_on
        row.save(update_fields=["left_on"])
    return row


def record_return(*, by: Member, member: Member) -> Member:
    """Take back a day of leaving: the member stays, or has come back."""
    _require_coordinator(by)
    with transaction.atomic():
        row = _locked_member(member)
        row.left_on = None
        row.save(update_fields=["left_on"])
    return row


def change_settings(
    *,
    by: Member,
    name: str,
    nation: str,
    minimum_contributors: int,
    depreciation_rate: Decimal,
    reminder_hour: int,
    tyre_life_miles: int,
    coordinators_need_second_factor: bool,
) -> Cooperative:
    """Set the co-op's one row. ``depreciation_rate`` is a yearly share: 0.15 is 15 %. The hour is UK time."""
    _require_coordinator(by)
    row, _ = Cooperative.objects.update_or_create(
        id=Cooperative.ONLY_ID,
        defaults={
            "name": name,
            "nation": nation,
            "minimum_contributors": minimum_contributors,
            "depreciation_rate": depreciation_rate,
            "reminder_hour": reminder_hour,
            "tyre_life_miles": tyre_life_miles,
            "coordinators_need_second_factor": coordinators_need_second_factor,
        },
    )
    return row


def choose_reminders(*, by: Member, reminder_hour: int | None, wants_due_mail: bool) -> Member:
    """Set from which hour, UK time, a member is reminded (None: the co-op's), and whether of all that falls due.

    What the law asks for is mailed all the same. Raises ValidationError on ``reminder_hour`` outside 4 to 23.
    """
    if reminder_hour is not None and not EARLIEST_REMINDER_HOUR <= reminder_hour <= 23:
        raise ValidationError({"reminder_hour": f"Choose an hour from {EARLIEST_REMINDER_HOUR} to 23."})
    by.reminder_hour, by.wants_due_mail = reminder_hour, wants_due_mail
    by.save(update_fields=["reminder_hour", "wants_due_mail"])
    return by


def _require_coordinator(member: Member) -> None:
    if not member.is_coordinator:
        raise PermissionDenied


def _locked_member(member: Member) -> Member:
    """The member's row, locked after those of all coordinators, always in one order.

    Two coordinators who step down at the same moment thus wait for each other, and the second sees what
    the first has done.
    """
    list(Member.objects.select_for_update().filter(role=Role.COORDINATOR).order_by("pk"))
    return Member.objects.select_for_update().get(pk=member.pk)


def _require_another_coordinator(member: Member, field: str) -> None:
    """Refuse a change that would leave nobody who stays to look after the cars."""
    if not member.is_coordinator:
        return
    staying = Member.objects.filter(role=Role.COORDINATOR, left_on__isnull=True).exclude(pk=member.pk)
    if not staying.exists():
        raise ValidationError(
            {field: f"{member.name} is the only coordinator. Make somebody else a coordinator first."}
        )
