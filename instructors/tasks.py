"""The doors through which the queue and the schedule reach the record of acts."""

from celery import shared_task
from django.core.management import call_command

from instructors.actions import forget_old_acts
from instructors.notification import act_mails_to_send, deliver_act_mail


@shared_task
def send_act_mail(mail_id: int) -> None:
    """Send one mail about what was done."""
    deliver_act_mail(mail_id)


@shared_task
def retry_act_mail() -> None:
    """Nudge the mails that were refused and have waited, or whose sender came to grief."""
    for mail_id in act_mails_to_send():
        send_act_mail.delay_on_commit(mail_id)


@shared_task
def forget_acts() -> None:
    """Delete what the record has kept for 400 days."""
    forget_old_acts()


@shared_task
def forget_sessions() -> None:
    """Delete the sessions that are over: a visitor who only looks at the sign-in page leaves one too."""
    call_command("clearsessions")
