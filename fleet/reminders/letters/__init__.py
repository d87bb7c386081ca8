"""What each kind of mail says, worked out from how things stand when it goes."""

from collections.abc import Callable
from datetime import date

from fleet.models import MailKind, ReminderMail
from fleet.reminders.letters.asked import asked_letter
from fleet.reminders.letters.due import due_letter
from fleet.reminders.letters.parts import Letter, ToldStep
from fleet.reminders.letters.urgent import alarm_letter, defect_letter

__all__ = ["Letter", "ToldStep", "letter_for"]

_COMPOSERS: dict[MailKind, Callable[[ReminderMail, date], Letter | None]] = {
    MailKind.REMINDER: due_letter,
    MailKind.ASKED: asked_letter,
    MailKind.DEFECT: defect_letter,
    MailKind.ALARM: alarm_letter,
}


def letter_for(mail: ReminderMail, on: date) -> Letter | None:
    """What a mail has to say on ``on``; None if nothing of it holds any more, or its recipient has left."""
    return _COMPOSERS[MailKind(mail.kind)](mail, on) if mail.recipient.belongs_on(on) else None
