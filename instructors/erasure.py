"""Erasing a member: all that is theirs goes, and what has to stay is a former member's without a name."""

from datetime import date, timedelta
from pathlib import Path

from allauth.account.models import EmailAddress
from allauth.mfa.models import Authenticator
from allauth.usersessions.models import UserSession
from django.conf import settings
from django.core.exceptions import PermissionDenied, ValidationError
from django.core.mail import EmailMessage
from django.db import transaction
from django.template.loader import render_to_string
from django.utils import timezone
from django.utils.module_loading import import_string

from config.erasing import take_out
from config.mail import send_soon, wrapped
from config.showing import day
from instructors.actions import lock_member, record_act, require_another_coordinator
from instructors.models import Act, ActKind, ActMail, Invitation, Member, Role
from instructors.queries import coordinators, last_changed_on
from instructors.signing_in.actions import sign_out_everywhere

#: Whoever leaves is told at once, and has so long to say that they did not ask for it. The law wants an answer within a
#: month (UK GDPR, article 12(3)), for which 28 days are a safe target (ICO).
WAIT = timedelta(days=28)
NAMELESS = "A former member"


@transaction.atomic
def erase(*, by: Member, member: Member) -> None:
    """Erase a member: themselves by their own wish, or a former one by a coordinator, at that member's request.

    Apps above do their part by ``settings.ERASURE``. It is all or nothing, recorded for every coordinator without
    anything about the person, and told to the person by mail. Raises ValidationError if the book would lose its last
    coordinator, if it is too early, or if they still keep a car; PermissionDenied for anybody else's wish.
    """
    row = lock_member(member)
    today = timezone.localdate()
    _refuse(by, row, today)
    name, email = row.name, row.email
    words = [email, *([name] if " " in name else [])]
    for erase_there in settings.ERASURE:
        import_string(erase_there)(row, words)
    _erase_signing_in(row)
    _erase_record(row, words)
    _make_nameless(row, today)
    for told in coordinators(today):
        record_act(
            by=by,
            kind=ActKind.PERSON,
            concerns=told,
            subject=f"member:{row.pk}",
            about=NAMELESS,
            field="erased",
            is_mailed=False,
        )
    transaction.on_commit(lambda: _say_good_bye(name, email))


def earliest(member: Member) -> date | None:
    """From which day a coordinator may erase a former member; None for one who has not left.

    It counts from when they were told: a last day can be recorded that lies far back.
    """
    if member.left_on is None:
        return None
    return max(filter(None, [member.left_on, last_changed_on(member, "left_on")])) + WAIT


def _refuse(by: Member, member: Member, today: date) -> None:
    if member.erased_at:
        raise ValidationError("They are erased already.", code="erased")
    require_another_coordinator(member, "typed")
    if by == member:
        return
    if not by.is_coordinator:
        raise PermissionDenied
    first = earliest(member)
    if first is None or member.belongs_on(today):
        raise ValidationError(f"{member.name} has not left. Record the last day first.", code="stays")
    if today < first:
        raise ValidationError(
            f"This can be done from {day(first)} on: they were told of their last day, and may object."
        )


def _erase_signing_in(member: Member) -> None:
    sign_out_everywhere(member=member)
    for model in (UserSession, Authenticator, EmailAddress):
        model.objects.filter(user=member).delete()


def _erase_record(member: Member, words: list[str]) -> None:
    Act.objects.filter(concerns=member).delete()
    ActMail.objects.filter(recipient=member).delete()
    Invitation.objects.filter(email__iexact=member.email).delete()
    take_out(words, [Act, ActMail])
    # Where no mail server is set: what was written to them. What names them in others' mails goes within 30 days.
    transaction.on_commit(lambda email=member.email: _delete_mail_files(email))  # type: ignore[misc]


def _make_nameless(member: Member, today: date) -> None:
    """Keep the row, because the history of cars refers to it, with nothing of the person but when they were a member.

    They count as gone since yesterday at the latest, so that no mail of today is written to them.
    """
    member.left_on = min(member.left_on or today, today - timedelta(days=1))
    if member.joined_on:
        member.joined_on = min(member.joined_on, member.left_on)
    member.name, member.email = NAMELESS, f"former-{member.pk}@erased.invalid"
    member.role, member.last_login, member.erased_at = Role.MEMBER, None, timezone.now()
    member.reminder_hour, member.wants_due_mail, member.wants_log_mail = None, False, False
    member.set_unusable_password()
    member.save()


def _say_good_bye(name: str, email: str) -> None:
    context = {"name": name, "email_is_sent": settings.EMAIL_IS_SENT}
    body = wrapped(render_to_string("instructors/mail/erased.txt", context))
    send_soon(EmailMessage("Your records in the Tuition Car Book are erased", body, to=[email]))


def _delete_mail_files(email: str) -> None:
    folder, to = Path(settings.EMAIL_FILE_PATH), f"To: {email}".encode()
    for path in folder.glob("*.log"):
        if to in path.read_bytes():
            path.unlink(missing_ok=True)
