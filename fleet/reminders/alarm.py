"""Telling the coordinators that reminders have stopped."""

from datetime import datetime

from django.utils import timezone

from fleet.actions import queue_mail
from fleet.models import MailKind
from fleet.queries import reminders_are_late
from fleet.reminders.delivery import deliver_mail
from fleet.reminders.outbox import mails_to_send
from instructors.models import REMINDER_HOUR
from instructors.queries import coordinators


def sound_alarm(now: datetime) -> None:
    """Tell every coordinator, once a day, that no run has finished for too long; nothing if one has.

    Sent by this process at once, never in a transaction: the worker may be what has stopped. Not between
    midnight and four, when nothing runs that could have put it right.
    """
    local = timezone.localtime(now)
    if local.hour < REMINDER_HOUR.least or not reminders_are_late(now):
        return
    for coordinator in coordinators(local.date()):
        queue_mail(to=coordinator, kind=MailKind.ALARM)
    for mail_id in mails_to_send(local.date(), kinds=[MailKind.ALARM]):
        deliver_mail(mail_id, local.date())
