"""The record of acts: each is written in the transaction that does what it tells of."""

from collections.abc import Mapping
from datetime import date, datetime, timedelta

from django.db import transaction
from django.utils import timezone

from config.outbox import MailState, nudge_after_commit
from instructors.models import Act, ActKind, ActMail, Member
from instructors.queries import active_members

#: How long an act is kept, once any mail about it has gone.
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
    """Record an act that concerns a member; with ``is_mailed`` they are told by e-mail.

    Acts that one person does together go into one mail. Call this in the transaction that does what it tells of.
    ``Act`` explains the arguments; longer texts are cut.
    ``happened_at`` is now unless given.
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
    """Record what a member did themselves; nobody is told."""
    return record_act(by=by, kind=kind, concerns=by, field=event, now=now, is_mailed=False)


def record_settings_changes(*, by: Member, changes: Mapping[str, tuple[str, str]]) -> None:
    """Record changed settings for every active member and mail them; ``changes`` holds by field what it was and is now.

    The member who made the changes gets no mail.
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
    """A value as an act keeps it: 2026-03-05 for a day, "member:7" for a member, yes or no, empty for None."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Member):
        return f"member:{value.pk}"
    return value.isoformat() if isinstance(value, date) else str(value)


def _mail_of(by: Member | None, to: Member) -> ActMail:
    """The mail that will tell of this act: one to the same member that is still unsent and untried, or a new one.

    The lock keeps it from being claimed before this transaction ends. A mail that another transaction has locked is
    passed over.
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
