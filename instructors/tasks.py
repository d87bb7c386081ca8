"""The tasks about the record of acts and the whole book that the queue and the schedule run."""

from celery import shared_task
from django.core.management import call_command

from config.backup import place_of_backups
from instructors.actions import back_up_today, drill_this_month, forget_old_acts
from instructors.notification import act_mails_to_send, deliver_act_mail


@shared_task
def send_act_mail(mail_id: int) -> None:
    """Send one mail about what somebody did."""
    deliver_act_mail(mail_id)


@shared_task
def retry_act_mail() -> None:
    """Send the mails that wait: nobody was told of them, they were refused and have waited, or their sender died."""
    for mail_id in act_mails_to_send():
        deliver_act_mail(mail_id)


@shared_task
def back_up() -> None:
    """Make the backup of today, unless it is made; a machine that slept makes it within the hour."""
    if place := place_of_backups():
        back_up_today(place)


@shared_task
def drill() -> None:
    """Restore the last backup into a scratch book, unless that was done within the month."""
    if place := place_of_backups():
        drill_this_month(place)


@shared_task
def forget_acts() -> None:
    """Delete acts older than 400 days from the record."""
    forget_old_acts()


@shared_task
def forget_sessions() -> None:
    """Delete the sessions that have ended; even a visit to the sign-in page leaves one."""
    call_command("clearsessions")
