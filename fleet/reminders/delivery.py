"""Sending one reminder mail."""

import logging
import smtplib
from datetime import date
from enum import StrEnum
from typing import NamedTuple

from django.db import transaction

from config.mail import send_rendered
from fleet.core.due import occurrence
from fleet.models import Notice, ReminderMail
from fleet.queries import DueLine, DueReport, cars_of, due_report
from fleet.reminders import outbox
from fleet.reminders.message import reminder
from fleet.reminders.planning import step_for
from instructors.models import Member

logger = logging.getLogger(__name__)


class Outcome(StrEnum):
    SENT = "sent"
    REFUSED = "refused"
    NOTHING_LEFT = "nothing_left"
    LEFT_ALONE = "left_alone"


class Told(NamedTuple):
    """One step that a recipient was told. ``subject_of``: the car's mark, or the member's e-mail address."""

    recipient: str
    kind: str
    subject_of: str
    due_on: date | None
    step: int


class Delivery(NamedTuple):
    """What became of one mail: what it told if it was sent, or the reason why it could not be."""

    outcome: Outcome
    told: tuple[Told, ...] = ()
    error: str = ""


class _Standing(NamedTuple):
    notice: Notice
    line: DueLine


def deliver_mail(mail_id: int, on: date, *, at_once: bool = False) -> Delivery:
    """Send a mail if it can be claimed, with what of it still stands on ``on``; never inside a transaction.

    ``at_once`` does not wait until a refused mail's next attempt is due. A refusal, by the mail server or by
    anything else, puts the mail back in the queue with the reason.
    """
    mail = outbox.claim(mail_id, at_once=at_once)
    if mail is None:
        return Delivery(Outcome.LEFT_ALONE)
    try:
        report = _report_for(mail.recipient, on)
        standing = _drop_fallen(mail, report)
        if not standing:
            return Delivery(Outcome.NOTHING_LEFT)
        context = reminder(mail.recipient, [one.line for one in standing], report)
        send_rendered("fleet/mail/reminder", context, to=mail.recipient.email, message_id=mail.message_id)
    except Exception as error:
        # Whatever it is, it must not keep the other members' mails from going, nor this one from being seen.
        if not isinstance(error, OSError):
            logger.exception("Reminder mail %s could not be made", mail.pk)
        reason = _words(error)
        outbox.mark_refused(mail, reason)
        return Delivery(Outcome.REFUSED, error=f"{mail.recipient.email}: {reason}")
    if not outbox.mark_sent(mail):
        logger.warning("Reminder mail %s was taken over while it was sent: it may come twice", mail.pk)
    return Delivery(Outcome.SENT, tuple(_told(one, mail.recipient) for one in standing))


def _report_for(recipient: Member, on: date) -> DueReport:
    """What the recipient may be told, as it stands now: nothing to a member who has left."""
    if not recipient.belongs_on(on):
        return due_report(on, cars=(), members=())
    if recipient.is_coordinator:
        return due_report(on)
    return due_report(on, cars=cars_of(recipient, on), members=[recipient])


@transaction.atomic
def _drop_fallen(mail: ReminderMail, report: DueReport) -> list[_Standing]:
    """The notices that are still true, worst first; the others, which nobody was told, are given up.

    An item may have been met, booked or put off since the plan, its car may have left service or changed
    hands. With nothing left the mail is not needed any more.
    """
    lines = {line.item_id: line for line in report.lines()}
    standing, fallen = [], []
    for notice in mail.notices.all():
        line = lines.get(notice.due_item_id)
        if (
            line is not None
            and notice.occurrence == occurrence(line.status)
            and step_for(line, mail.recipient) is not None
        ):
            standing.append(_Standing(notice, line))
        else:
            fallen.append(notice.pk)
    if not standing:
        outbox.mark_superseded(mail)
    elif fallen:
        Notice.objects.filter(pk__in=fallen).delete()
    order = list(lines)
    return sorted(standing, key=lambda one: (order.index(one.line.item_id), one.notice.step))


def _told(one: _Standing, recipient: Member) -> Told:
    line = one.line
    return Told(recipient.email, line.kind.name, line.subject.key, line.status.due_on, one.notice.step)


def _words(error: Exception) -> str:
    """What went wrong, in the mail server's own words where it has said something."""
    if isinstance(error, smtplib.SMTPRecipientsRefused):
        code, text = next(iter(error.recipients.values()))
        return f"{code} {_decoded(text)}"
    if isinstance(error, smtplib.SMTPResponseException):
        return f"{error.smtp_code} {_decoded(error.smtp_error)}"
    return " ".join(f"{type(error).__name__}: {error}".split())


def _decoded(text: bytes | str) -> str:
    return text.decode(errors="replace") if isinstance(text, bytes) else text
