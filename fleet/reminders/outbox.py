"""The states of a mail, changed by conditional updates alone.

Claim, look at the row count, then act: no two processes ever hold the same mail.
"""

from collections.abc import Iterable
from datetime import date, datetime, timedelta

from django.db.models import F, Q, QuerySet
from django.utils import timezone

from fleet import claims
from fleet.models import MailKind, MailState, Notice, ReminderMail

#: A send takes seconds; a claim as old as this is one whose holder came to grief.
CLAIM_LIFE = timedelta(minutes=10)
FIRST_WAIT = timedelta(minutes=5)
LONGEST_WAIT = timedelta(minutes=120)

_ERROR_LENGTH = 500
_UNSENT = Q(state__in=[MailState.QUEUED, MailState.SENDING])
#: A defect stays news for as long as it stops its car; the next day says anew whatever else has waited.
_OUTLASTS_ITS_DAY = Q(kind=MailKind.DEFECT)


def mails_to_send(on: date, *, kinds: Iterable[MailKind] = MailKind, at_once: bool = False) -> list[int]:
    """The ids of the mails that may be tried now on ``on``; ``at_once``: even if their wait is not over."""
    now = timezone.now()
    unsent = ReminderMail.objects.filter(_UNSENT, _may_go_on(on), kind__in=list(kinds)).order_by("pk")
    return [mail.pk for mail in unsent if _is_free(mail, now, at_once)]


def claim(mail_id: int, on: date, *, at_once: bool) -> ReminderMail | None:
    """The mail, now ours to send; None if it is not there to be sent on ``on``, or somebody else has it."""
    now = timezone.now()
    mail = _with_people().filter(_may_go_on(on), pk=mail_id).first()
    if mail is None or not _is_free(mail, now, at_once):
        return None
    return _swap(
        mail,
        state=MailState.SENDING,
        claimed_by=claims.this_process(),
        claimed_at=now,
        attempt_count=F("attempt_count") + 1,
    )


def mark_sent(mail: ReminderMail) -> bool:
    """Sent; False if another process has taken it over meanwhile."""
    return _swap(mail, state=MailState.SENT, sent_at=timezone.now(), last_error="") is not None


def mark_superseded(mail: ReminderMail) -> bool:
    """Not needed any more; its notices, which nobody was told, are given up for a later plan to claim.

    Call it in a transaction. False if another process has it now.
    """
    if _swap(mail, state=MailState.SUPERSEDED) is None:
        return False
    Notice.objects.filter(mail=mail).delete()
    return True


def mark_refused(mail: ReminderMail, error: str) -> bool:
    """Back in the queue with the reason, and a wait that doubles from five minutes up to two hours."""
    wait = min(FIRST_WAIT * 2 ** min(mail.attempt_count - 1, 10), LONGEST_WAIT)
    return (
        _swap(
            mail,
            state=MailState.QUEUED,
            last_error=error[:_ERROR_LENGTH],
            next_attempt_at=timezone.now() + wait,
            claimed_by="",
            claimed_at=None,
        )
        is not None
    )


def supersede_earlier(on: date) -> None:
    """Give up the unsent mails of the days before: what still stands of their reminders goes into today's.

    One that is being sent right now is left alone, and so is news of a defect. Call it in a transaction.
    """
    now = timezone.now()
    for mail in ReminderMail.objects.filter(_UNSENT, ~_OUTLASTS_ITS_DAY, day__lt=on):
        if _is_free(mail, now, at_once=True):
            mark_superseded(mail)


def _may_go_on(on: date) -> Q:
    return Q(day=on) | _OUTLASTS_ITS_DAY


def _with_people() -> QuerySet[ReminderMail]:
    return ReminderMail.objects.select_related("recipient", "asked_by")


def _is_free(mail: ReminderMail, now: datetime, at_once: bool) -> bool:
    if mail.state == MailState.QUEUED:
        return at_once or mail.next_attempt_at <= now
    if mail.state == MailState.SENDING:
        is_old = mail.claimed_at is None or mail.claimed_at <= now - CLAIM_LIFE
        return is_old or claims.has_ended(mail.claimed_by)
    return False


def _swap(mail: ReminderMail, **values: object) -> ReminderMail | None:
    """Change the row if it is still as ``mail`` was read, and read it again; None if it is not."""
    changed = ReminderMail.objects.filter(
        pk=mail.pk, state=mail.state, claimed_by=mail.claimed_by, claimed_at=mail.claimed_at
    ).update(**values)
    return _with_people().get(pk=mail.pk) if changed else None
