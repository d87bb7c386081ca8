"""The mails that cannot wait for the day's reminder: that the reminders have stopped, or that no backup is made."""

from datetime import date

from django.utils import timezone

from config.site import address_of
from fleet.actions.acts import BACKUP
from fleet.models import ReminderMail
from fleet.queries import backup_is_late, last_finished_run, quiet_since, reminders_are_late
from fleet.reminders.letters.parts import Letter
from instructors.queries import backup_failed_since, last_backup


def alarm_letter(mail: ReminderMail, on: date) -> Letter | None:
    """What has stopped, and since when; None if it no longer has, or the recipient is no longer a coordinator."""
    if not mail.recipient.is_coordinator:
        return None
    return _backup_letter(mail) if mail.about == BACKUP else _runs_letter(mail)


def _runs_letter(mail: ReminderMail) -> Letter | None:
    if not reminders_are_late(timezone.now()):
        return None
    context = {"quiet_since": quiet_since(), "has_ever_run": last_finished_run() is not None}
    return Letter("fleet/mail/alarm", _addressed(mail) | context)


def _backup_letter(mail: ReminderMail) -> Letter | None:
    if not backup_is_late(timezone.now()):
        return None
    last = last_backup()
    context = {"last": last, "failed": backup_failed_since(last)}
    return Letter("fleet/mail/backup_alarm", _addressed(mail) | context)


def _addressed(mail: ReminderMail) -> dict[str, object]:
    return {"recipient": mail.recipient, "link": address_of("fleet:reminder-log")}
