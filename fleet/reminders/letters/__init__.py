"""What each kind of mail says, worked out at the moment it is sent."""

from collections.abc import Callable
from datetime import date

from fleet.models import MailKind, ReminderMail
from fleet.reminders.letters.asked import asked_letter
from fleet.reminders.letters.defect import defect_letter
from fleet.reminders.letters.due import due_letter
from fleet.reminders.letters.parts import Letter, ToldStep
from fleet.reminders.letters.urgent import alarm_letter

__all__ = ["Letter", "ToldStep", "letter_for"]

_COMPOSERS: dict[MailKind, Callable[[ReminderMail, date], Letter | None]] = {
    MailKind.REMINDER: due_letter,
    MailKind.ASKED: asked_letter,
    MailKind.DEFECT: defect_letter,
    MailKind.ALARM: alarm_letter,
}


def letter_for(mail: ReminderMail, on: date) -> Letter | None:
    """What a mail says on ``on``; None if nothing in it is true any more, or its recipient has left."""
    return _COMPOSERS[MailKind(mail.kind)](mail, on) if mail.recipient.belongs_on(on) else None
