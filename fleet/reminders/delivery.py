"""Sending one mail of whatever kind."""

from datetime import date
from enum import StrEnum
from typing import NamedTuple

from django.db import transaction

from config.mail import send_rendered
from fleet.reminders import outbox
from fleet.reminders.letters import ToldStep, letter_for


class DeliveryResult(StrEnum):
    SENT = "sent"
    REFUSED = "refused"
    NOTHING_LEFT = "nothing_left"
    LEFT_ALONE = "left_alone"


class Delivery(NamedTuple):
    """The result for one mail: the steps it told if it was sent, or the error if it was refused."""

    result: DeliveryResult
    told: tuple[ToldStep, ...] = ()
    error: str = ""


def deliver_mail(mail_id: int, on: date, *, at_once: bool = False) -> Delivery:
    """Send a mail if it can be claimed, with what is still true on ``on``; never call it inside a transaction.

    ``at_once`` ignores the wait after an earlier refusal. Any failure, by the mail server or otherwise, puts the mail
    back in the queue with the reason.
    """
    mail = outbox.claim(mail_id, on, at_once=at_once)
    if mail is None:
        return Delivery(DeliveryResult.LEFT_ALONE)
    try:
        letter = letter_for(mail, on)
        if letter is None:
            with transaction.atomic():
                outbox.mark_superseded(mail)
            return Delivery(DeliveryResult.NOTHING_LEFT)
        send_rendered(
            letter.template,
            letter.context,
            to=mail.recipient.email,
            message_id=mail.message_id,
            headers=letter.headers,
        )
    except Exception as error:
        reason = outbox.put_back(mail, error)
        return Delivery(DeliveryResult.REFUSED, error=f"{mail.recipient.email}: {reason}")
    outbox.mark_sent(mail)
    return Delivery(DeliveryResult.SENT, letter.told)
