"""The outbox of the fleet's mails: that of ``config``, with mails that count only on their own day."""

from collections.abc import Iterable
from datetime import date

from django.db.models import Q
from django.utils import timezone

from config import outbox
from config.outbox import UNSENT, mark_sent, put_back
from fleet.models import MailKind, Notice, ReminderMail

__all__ = ["claim", "mails_to_send", "mark_sent", "mark_superseded", "put_back", "supersede_earlier"]

#: News of a defect counts as long as it stops its car; anything else is said again in the next day's mail.
_OUTLASTS_ITS_DAY = Q(kind=MailKind.DEFECT)


def mails_to_send(on: date, *, kinds: Iterable[MailKind] = MailKind, at_once: bool = False) -> list[int]:
    """The ids of the mails that may be sent now on ``on``; ``at_once``: even if their wait is not over."""
    return outbox.to_send(ReminderMail.objects.filter(_may_go_on(on), kind__in=list(kinds)), at_once=at_once)


def claim(mail_id: int, on: date, *, at_once: bool) -> ReminderMail | None:
    """Claim the mail; None if it is not to be sent on ``on``, or another process has it."""
    mails = ReminderMail.objects.select_related("recipient", "asked_by").filter(_may_go_on(on))
    return outbox.claim(mails, mail_id, at_once=at_once)


def mark_superseded(mail: ReminderMail) -> bool:
    """Mark a mail as no longer needed; its notices, which nobody was told, are deleted for a later plan to claim.

    Call it in a transaction. False if another process has it now.
    """
    if not outbox.mark_not_needed(mail):
        return False
    Notice.objects.filter(mail=mail).delete()
    return True


def supersede_earlier(on: date) -> None:
    """Drop the unsent mails of earlier days: what is still true in them goes into today's.

    A mail that is being sent right now is left alone, and so is news of a defect. Call it in a transaction.
    """
    now = timezone.now()
    for mail in ReminderMail.objects.filter(~_OUTLASTS_ITS_DAY, state__in=UNSENT, day__lt=on):
        if mail.is_free(now, at_once=True):
            mark_superseded(mail)


def _may_go_on(on: date) -> Q:
    return Q(day=on) | _OUTLASTS_ITS_DAY
