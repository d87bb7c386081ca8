"""Writing down what was done that concerns a member, in the transaction that does it."""

from collections.abc import Mapping
from datetime import date, datetime, timedelta

from django.db import transaction
from django.utils import timezone

from config.outbox import MailState, nudge_after_commit
from instructors.models import Act, ActKind, ActMail, Member
from instructors.queries import active_members

#: How long an act is kept, once its mail has been accepted.
KEPT_FOR = timedelta(days=400)
_SEND_MAIL = "instructors.tasks.send_act_mail"


@transaction.atomic
def record_act(
    *,
    by: Member | None,
    kind: ActKind,
    concerns: Member,
    subject: str = "",
    about: str = "",
    field: str = "",
    was: str = "",
    now: str = "",
    is_mailed: bool,
    happened_at: datetime | None = None,
) -> Act:
    """Write down an act; with ``is_mailed`` they are told at once, in one mail for all that one person does together.

    Call it in the transaction that does what it tells of; see ``Act`` for the words. Longer texts are cut. It happened
    now, unless ``happened_at`` says when.
    """
    mail = _mail_of(by, concerns) if is_mailed else None
    return Act.objects.create(
        by=by,
        kind=kind,
        concerns=concerns,
        subject=subject,
        about=_cut(about, 60),
        field=field,
        was=_cut(was, 200),
        now=_cut(now, 200),
        mail=mail,
        happened_at=happened_at or timezone.now(),
    )


def record_own(by: Member, kind: ActKind, event: str, now: str = "") -> Act:
    """Write down for ``by`` what they did themselves, with nobody to be told."""
    return record_act(by=by, kind=kind, concerns=by, field=event, now=now, is_mailed=False)


def changed_settings(*, by: Member, changes: Mapping[str, tuple[str, str]]) -> None:
    """Tell every active member of settings that group figures rest on: by field, what it was and is now.

    Whoever changed them finds it in the own record, and gets no mail.
    """
    for member in active_members(timezone.localdate()):
        for field, (was, now) in changes.items():
            record_act(
                by=by,
                kind=ActKind.SETTINGS,
                concerns=member,
                subject="settings",
                field=field,
                was=was,
                now=now,
                is_mailed=member != by,
            )


def text_of(value: object) -> str:
    """A field's value as an act keeps it: days as 2026-03-05, members as "member:7", yes, no, empty for nothing."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Member):
        return f"member:{value.pk}"
    return value.isoformat() if isinstance(value, date) else str(value)


def forget_old_acts() -> None:
    """Delete what is older than 400 days, but for acts of which nobody has been told yet."""
    old = Act.objects.filter(happened_at__lt=timezone.now() - KEPT_FOR)
    old.exclude(mail__isnull=False, told_at__isnull=True).delete()
    ActMail.objects.filter(state=MailState.SENT, acts__isnull=True).delete()


def _mail_of(by: Member | None, to: Member) -> ActMail:
    """The mail in which this act is told: one to the same member that nobody has tried to send yet, or a new one.

    Locked, it cannot be claimed before this transaction ends, and then tells of this act too. One that another
    transaction holds is not waited for.
    """
    waiting = ActMail.objects.select_for_update(skip_locked=True, of=("self",)).filter(
        recipient=to, by=by, state=MailState.QUEUED, attempt_count=0
    )
    mail = waiting.first()
    if mail is None:
        mail = ActMail.objects.create(recipient=to, by=by)
        nudge_after_commit(_SEND_MAIL, mail.pk)
    return mail


def _cut(text: str, length: int) -> str:
    return text if len(text) <= length else text[: length - 1] + "…"
