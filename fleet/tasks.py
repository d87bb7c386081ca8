"""The doors through which the schedule reaches the reminders."""

from datetime import date

from celery import shared_task
from django.utils import timezone

from fleet.reminders import deliver_mail, finish_run, has_run, mails_to_send, plan_reminders, start_run
from instructors.queries import cooperative


@shared_task
def remind_today() -> None:
    """Plan the reminders of today, once, at or after the co-op's hour, and nudge the sending of each mail."""
    now = timezone.localtime()
    today = now.date()
    if now.hour < cooperative().reminder_hour or has_run(today):
        return
    run = start_run(today)
    plan = plan_reminders(today)
    _send_all(plan.mail_ids, today)
    finish_run(run, plan)


@shared_task
def retry_mail() -> None:
    """Nudge today's mails that were refused and have waited, or whose sender came to grief."""
    today = timezone.localdate()
    _send_all(mails_to_send(today), today)


@shared_task
def send_mail(mail_id: int, day: str) -> None:
    """Send one mail of that day (ISO); once the day is over the next plan takes over what it had to say."""
    if date.fromisoformat(day) == timezone.localdate():
        deliver_mail(mail_id, date.fromisoformat(day))


def _send_all(mail_ids: list[int], day: date) -> None:
    for mail_id in mail_ids:
        send_mail.delay_on_commit(mail_id, day.isoformat())
