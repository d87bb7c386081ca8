"""Sending one mail of whatever kind."""

import logging
import smtplib
from datetime import date
from enum import StrEnum
from typing import NamedTuple

from django.db import transaction

from config.mail import send_rendered
from fleet.reminders import outbox
from fleet.reminders.letters import Told, letter_for

logger = logging.getLogger(__name__)


class Outcome(StrEnum):
    SENT = "sent"
    REFUSED = "refused"
    NOTHING_LEFT = "nothing_left"
    LEFT_ALONE = "left_alone"


class Delivery(NamedTuple):
    """What became of one mail: what it told if it was sent, or the reason why it could not be."""

    outcome: Outcome
    told: tuple[Told, ...] = ()
    error: str = ""


def deliver_mail(mail_id: int, on: date, *, at_once: bool = False) -> Delivery:
    """Send a mail if it can be claimed, with what of it still holds on ``on``; never inside a transaction.

    ``at_once`` does not wait until a refused mail's next attempt is due. A refusal, by the mail server or by
    anything else, puts the mail back in the queue with the reason.
    """
    mail = outbox.claim(mail_id, on, at_once=at_once)
    if mail is None:
        return Delivery(Outcome.LEFT_ALONE)
    try:
        letter = letter_for(mail, on)
        if letter is None:
            with transaction.atomic():
                outbox.mark_superseded(mail)
            return Delivery(Outcome.NOTHING_LEFT)
        send_rendered(letter.template, letter.context, to=mail.recipient.email, message_id=mail.message_id)
    except Exception as error:
        # Whatever it is, it must not keep the other members' mails from going, nor this one from being seen.
        if not isinstance(error, OSError):
            logger.exception("Mail %s could not be made", mail.pk)
        reason = _words(error)
        outbox.mark_refused(mail, reason)
        return Delivery(Outcome.REFUSED, error=f"{mail.recipient.email}: {reason}")
    if not outbox.mark_sent(mail):
        logger.warning("Mail %s was taken over while it was sent: it may come twice", mail.pk)
    return Delivery(Outcome.SENT, letter.told)


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
