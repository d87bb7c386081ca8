"""The tasks about the record of acts and the whole book that the queue and the schedule run."""

from django.conf import settings
from django.utils import timezone

from config.celery import app
from instructors.actions import back_up_today, clean_up
from instructors.notification import act_mails_to_send, deliver_act_mail


@app.task
def send_act_mail(mail_id: int) -> None:
    """Send one mail about what somebody did."""
    deliver_act_mail(mail_id)


@app.task
def retry_act_mail() -> None:
    """Send the mails that wait: nobody was told of them, they were refused and have waited, or their sender died."""
    for mail_id in act_mails_to_send():
        deliver_act_mail(mail_id)


@app.task
def back_up() -> None:
    """Make the backup of today, unless it is made; a machine that slept makes it within the hour."""
    if settings.BACKUP_FOLDER:
        back_up_today(settings.BACKUP_FOLDER)


@app.task
def clean() -> None:
    """Delete all that the book need not keep any longer."""
    clean_up(timezone.now())
