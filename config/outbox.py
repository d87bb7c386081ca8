"""Mails as rows in the database, whose state changes by conditional updates alone.

A process claims a mail, checks the row count and only then sends: no two processes ever hold the same mail.
"""

import logging
import uuid
from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import NamedTuple, TypeVar

from django.db import models
from django.db.models import F, Max, Min, Q, QuerySet
from django.utils import timezone

from config import claims
from config.later import Lane, soon
from config.mail import is_of_address, refusal_words, says_whose_fault

logger = logging.getLogger(__name__)

#: A send takes seconds, so the holder of a claim this old has failed.
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


class Outgoing(models.Model):
    """A message as a row, which a process claims before it sends it.

    A refused one goes back to ``queued`` with the server's words in ``last_error`` and the time of the next attempt.
    ``message_id`` is the same for every attempt.
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
        """Whether it may be claimed at ``now``; with ``at_once``, even before its wait is over."""
        if self.state == MailState.QUEUED:
            # A wait longer than any was begun while the clock was ahead.
            return at_once or not now < self.next_attempt_at <= now + LONGEST_WAIT
        if self.state == MailState.SENDING:
            is_old = self.claimed_at is None or self.claimed_at <= now - CLAIM_LIFE
            return is_old or claims.has_ended(self.claimed_by)
        return False


class OutgoingMail(Outgoing):
    """A mail to a member."""

    #: Whether the last refusal was of this mail's address, and no other mail's concern.
    address_refused = models.BooleanField(default=False, db_default=False)

    class Meta:
        abstract = True


AnyOutgoing = TypeVar("AnyOutgoing", bound=Outgoing)
AnyMail = TypeVar("AnyMail", bound=OutgoingMail)


def to_send(mails: QuerySet[AnyOutgoing], *, at_once: bool = False) -> list[int]:
    """The ids of the ``mails`` that may be tried now, oldest first."""
    now = timezone.now()
    unsent = mails.filter(state__in=UNSENT).order_by("pk")
    return [mail.pk for mail in unsent if mail.is_free(now, at_once=at_once)]


def claim(mails: QuerySet[AnyOutgoing], mail_id: int, *, at_once: bool = False) -> AnyOutgoing | None:
    """Claim a mail and return it; None if it is not among ``mails`` or another process has it."""
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


def mark_sent(mail: Outgoing) -> bool:
    """Mark a mail as sent. False if another process has taken it over, so that it may arrive twice."""
    is_ours = _swap(mail, state=MailState.SENT, sent_at=timezone.now(), last_error="")
    if not is_ours:
        logger.warning("Mail %s was taken over while it was being sent: it may arrive twice", mail.pk)
    return is_ours


def mark_not_needed(mail: Outgoing) -> bool:
    """Mark a mail as no longer needed. False if another process has it now."""
    return _swap(mail, state=MailState.SUPERSEDED)


def mark_refused(mail: Outgoing, reason: str, **noted: bool) -> bool:
    """Put a mail back in the queue with the reason, and a wait that doubles from five minutes up to two hours.

    ``noted`` goes into the row too.
    """
    return _swap(
        mail,
        state=MailState.QUEUED,
        last_error=reason[:_ERROR_LENGTH],
        next_attempt_at=timezone.now() + _wait_after(mail.attempt_count),
        claimed_by="",
        claimed_at=None,
        **noted,
    )


def put_back(mail: OutgoingMail, error: Exception) -> str:
    """Put a mail back in the queue that could not be written or sent, and return the reason in words.

    No error may stop the other mails or hide this one.
    """
    if not isinstance(error, OSError):
        logger.error("Mail %s could not be written", mail.pk, exc_info=error)
    reason = refusal_words(error)
    mark_refused(mail, reason, address_refused=is_of_address(error))
    return reason


class Refusal(NamedTuple):
    """A mail that was last refused at ``at``; ``created_at`` is None where that was not kept.

    Whether it was ``of_address`` is certain only if the server ``says_so``, by an enhanced code.
    """

    at: datetime
    created_at: datetime | None
    attempt_count: int
    recipient_id: int
    of_address: bool
    says_so: bool


class Traffic(NamedTuple):
    """How mails fare: since when the oldest unsent one waits, when one was last taken, and which were refused.

    One whose address was refused waits for whoever can put that right, and is not counted among those that wait.
    """

    waiting_since: datetime | None
    taken_at: datetime | None
    refusals: tuple[Refusal, ...]


def traffic(mails: QuerySet[AnyMail], *, refused_since: datetime) -> Traffic:
    """How ``mails``, which have a ``created_at``, fare; of those no longer needed only the later ones count.

    Two queries.
    """
    found = mails.order_by().aggregate(
        waiting=Min("created_at", filter=Q(state__in=UNSENT, address_refused=False)),
        taken=Max("sent_at", filter=Q(state=MailState.SENT, sent_at__lte=timezone.now())),
    )
    refused = mails.exclude(last_error="").exclude(state=MailState.SENT).filter(attempt_count__gt=0)
    refused = refused.filter(Q(state__in=UNSENT) | Q(created_at__gt=refused_since)).order_by()
    rows = refused.values_list(
        "next_attempt_at", "created_at", "attempt_count", "recipient_id", "address_refused", "last_error"
    )
    refusals = [
        Refusal(again - _wait_after(count), created, count, member, of_address, says_whose_fault(words))
        for again, created, count, member, of_address, words in rows
    ]
    return Traffic(found["waiting"], found["taken"], tuple(refusals))


def together(flows: Iterable[Traffic]) -> Traffic:
    """Several kinds of mails as one."""
    flows = list(flows)
    return Traffic(
        min((flow.waiting_since for flow in flows if flow.waiting_since), default=None),
        max((flow.taken_at for flow in flows if flow.taken_at), default=None),
        tuple(refusal for flow in flows for refusal in flow.refusals),
    )


def _wait_after(attempt_count: int) -> timedelta:
    return min(FIRST_WAIT * 2 ** min(max(attempt_count - 1, 0), 10), LONGEST_WAIT)


def nudge_after_commit(task: str, mail_id: int) -> None:
    """Have a mail sent once the transaction has committed, by somebody else than who waits for the page.

    If the queue cannot be reached, nothing is lost: whoever looks for mails that wait finds the row in seconds.
    """
    soon(task, mail_id, lane=Lane.MAIL)


def _swap(mail: Outgoing, **values: object) -> bool:
    """Change the row if it is still as it was read. Returns whether it was."""
    same = type(mail)._default_manager.filter(
        pk=mail.pk, state=mail.state, claimed_by=mail.claimed_by, claimed_at=mail.claimed_at
    )
    return bool(same.update(**values))
