"""The mail that cannot wait for the day's reminder: that the reminders have stopped."""

from datetime import date

from django.utils import timezone

from config.site import address_of
from fleet.models import ReminderMail
from fleet.queries import last_finished_run, quiet_since, reminders_are_late
from fleet.reminders.letters.parts import Letter


def alarm_letter(mail: ReminderMail, on: date) -> Letter | None:
    """Since when no run has finished; None if one has since, or the recipient is no longer a coordinator."""
    if not (mail.recipient.is_coordinator and reminders_are_late(timezone.now())):
        return None
    context = {
        "recipient": mail.recipient,
        "quiet_since": quiet_since(),
        "has_ever_run": last_finished_run() is not None,
        "link": address_of("fleet:reminder-log"),
    }
    return Letter("fleet/mail/alarm", context)
