"""The mails that cannot wait for the day: that reminders have stopped, or that backups are not made or not proven."""

from datetime import date

from django.utils import timezone

from config.site import address_of
from fleet.actions.acts import BACKUP, DRILL
from fleet.models import ReminderMail
from fleet.queries import backup_is_late, backup_is_unproven, last_finished_run, quiet_since, reminders_are_late
from fleet.reminders.letters.parts import Letter
from instructors.queries import backup_failed_since, drill_failed_since, last_backup, last_good_drill


def alarm_letter(mail: ReminderMail, on: date) -> Letter | None:
    """What has stopped, and since when; None if it no longer has, or the recipient is no longer a coordinator."""
    if not mail.recipient.is_coordinator:
        return None
    return _LETTERS.get(mail.about, _runs_letter)(mail)


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


def _drill_letter(mail: ReminderMail) -> Letter | None:
    if not backup_is_unproven(timezone.now()):
        return None
    last = last_good_drill()
    context = {"last": last, "failed": drill_failed_since(last.ended_at if last else None)}
    return Letter("fleet/mail/drill_alarm", _addressed(mail) | context)


_LETTERS = {BACKUP: _backup_letter, DRILL: _drill_letter}


def _addressed(mail: ReminderMail) -> dict[str, object]:
    return {"recipient": mail.recipient, "link": address_of("fleet:reminder-log")}
