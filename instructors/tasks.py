"""The tasks about the record of acts and the whole book that the queue and the schedule run."""

from django.utils import timezone

from config.backup import place_of_backups
from config.celery import app
from instructors.actions import back_up_today, clean_up, drill_this_month
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
    if place := place_of_backups():
        back_up_today(place)


@app.task
def drill() -> None:
    """Restore the last backup into a scratch book, unless that was done within the month."""
    if place := place_of_backups():
        drill_this_month(place)


@app.task
def clean() -> None:
    """Delete all that the book need not keep any longer."""
    clean_up(timezone.now())
