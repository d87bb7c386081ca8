"""What every outbox shares: the states of a mail, changed by conditional updates alone.

Claim, look at the row count, then act: no two processes ever hold the same mail.
"""

import logging
import uuid
from datetime import datetime, timedelta
from typing import TypeVar

from django.db import models, transaction
from django.db.models import F, QuerySet
from django.utils import timezone
from django.utils.module_loading import import_string

from config import claims
from config.mail import refusal_words

logger = logging.getLogger(__name__)

#: A send takes seconds; a claim as old as this is one whose holder came to grief.
CLAIM_LIFE = timedelta(minutes=10)
FIRST_WAIT = timedelta(minutes=5)
LONGEST_WAIT = timedelta(minutes=120)

_ERROR_LENGTH = 500


class MailState(models.TextChoices):
    QUEUED = "queued", "Waiting to be sent"
    SENDING = "sending", "Being sent"
    SENT = "sent", "Sent"
    SUPERSEDED = "superseded", "Not needed any more"


UNSENT = [MailState.QUEUED, MailState.SENDING]


class OutgoingMail(models.Model):
    """A mail as a row, claimed before its message goes.

    A refused message goes back to ``queued`` with the server's words in ``last_error`` and a time for the next
    attempt. ``message_id`` stays the same over every attempt.
    """

    state = models.CharField(max_length=10, choices=MailState, default=MailState.QUEUED)
    message_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    attempt_count = models.PositiveSmallIntegerField(default=0)
    next_attempt_at = models.DateTimeField(default=timezone.now)
    claimed_at = models.DateTimeField(null=True)
    claimed_by = models.CharField(max_length=120, blank=True)
    sent_at = models.DateTimeField(null=True)
    last_error = models.CharField(max_length=500, blank=True)

    class Meta:
        abstract = True

    def is_free(self, now: datetime, *, at_once: bool = False) -> bool:
        """Whether it may be claimed at ``now``; ``at_once``: even if its wait is not over."""
        if self.state == MailState.QUEUED:
            return at_once or self.next_attempt_at <= now
        if self.state == MailState.SENDING:
            is_old = self.claimed_at is None or self.claimed_at <= now - CLAIM_LIFE
            return is_old or claims.has_ended(self.claimed_by)
        return False


AnyMail = TypeVar("AnyMail", bound=OutgoingMail)


def to_send(mails: QuerySet[AnyMail], *, at_once: bool = False) -> list[int]:
    """The ids of those of ``mails`` that may be tried now, oldest first."""
    now = timezone.now()
    unsent = mails.filter(state__in=UNSENT).order_by("pk")
    return [mail.pk for mail in unsent if mail.is_free(now, at_once=at_once)]


def claim(mails: QuerySet[AnyMail], mail_id: int, *, at_once: bool = False) -> AnyMail | None:
    """The mail, now ours to send; None if it is not among ``mails``, or somebody else has it."""
    now = timezone.now()
    mail = mails.filter(pk=mail_id).first()
    if mail is None or not mail.is_free(now, at_once=at_once):
        return None
    is_ours = _swap(
        mail,
        state=MailState.SENDING,
        claimed_by=claims.this_process(),
        claimed_at=now,
        attempt_count=F("attempt_count") + 1,
    )
    return mails.get(pk=mail_id) if is_ours else None


def mark_sent(mail: OutgoingMail) -> bool:
    """Sent; False if another process has taken it over meanwhile, so that it may come twice."""
    is_ours = _swap(mail, state=MailState.SENT, sent_at=timezone.now(), last_error="")
    if not is_ours:
        logger.warning("Mail %s was taken over while it was sent: it may come twice", mail.pk)
    return is_ours


def mark_not_needed(mail: OutgoingMail) -> bool:
    """Nothing of it holds any more; False if another process has it now."""
    return _swap(mail, state=MailState.SUPERSEDED)


def mark_refused(mail: OutgoingMail, reason: str) -> bool:
    """Back in the queue with the reason, and a wait that doubles from five minutes up to two hours."""
    wait = min(FIRST_WAIT * 2 ** min(mail.attempt_count - 1, 10), LONGEST_WAIT)
    return _swap(
        mail,
        state=MailState.QUEUED,
        last_error=reason[:_ERROR_LENGTH],
        next_attempt_at=timezone.now() + wait,
        claimed_by="",
        claimed_at=None,
    )


def put_back(mail: OutgoingMail, error: Exception) -> str:
    """Put a mail that could not be made or handed over back in the queue; returns the reason in words.

    Whatever it is, it must not keep the other mails from going, nor this one from being seen.
    """
    if not isinstance(error, OSError):
        logger.error("Mail %s could not be made", mail.pk, exc_info=error)
    reason = refusal_words(error)
    mark_refused(mail, reason)
    return reason


def nudge_after_commit(task: str, mail_id: int) -> None:
    """Once the transaction has committed, ask the task queue to send a mail.

    The row is the work: a queue that cannot be reached loses nothing, the sweep finds the row. The task is looked
    up by name when it is needed, since it is a door above whoever calls.
    """
    transaction.on_commit(lambda: import_string(task).delay(mail_id), robust=True)


def _swap(mail: OutgoingMail, **values: object) -> bool:
    """Change the row if it is still as ``mail`` was read."""
    same = type(mail)._default_manager.filter(
        pk=mail.pk, state=mail.state, claimed_by=mail.claimed_by, claimed_at=mail.claimed_at
    )
    return bool(same.update(**values))
