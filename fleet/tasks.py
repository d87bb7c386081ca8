"""Tasks that the schedule starts: reminders and calendar feeds."""

from django.utils import timezone

from config.celery import app
from config.health import duty
from config.outbox import nudge_after_commit
from fleet import actions
from fleet.reminders import (
    deliver_mail,
    finish_run,
    mails_to_send,
    members_to_serve,
    note_turn,
    plan_reminders,
    post_turns,
    sound_alarm,
    start_run,
    told_without_room,
)
from instructors.actions import note_whether_store_answers


@app.task
def remind_today() -> None:
    """Plan today's reminders, once, for members whose hour has come, and start sending each mail."""
    now = timezone.localtime()
    today = now.date()
    members = members_to_serve(today, now.hour)
    if not members:
        return
    run = start_run(today, now.hour)
    plan = plan_reminders(today, members)
    for mail_id in plan.mail_ids:
        nudge_after_commit("fleet.tasks.send_mail", mail_id)
    finish_run(run, plan)


@app.task
def retry_mail() -> None:
    """Send the mails that wait: nobody was told of them, they were refused and have waited, or their sender died."""
    today = timezone.localdate()
    for mail_id in mails_to_send(today):
        deliver_mail(mail_id, today)


@app.task
def send_mail(mail_id: int) -> None:
    """Send one mail, if it may still go today."""
    deliver_mail(mail_id, timezone.localdate())


@app.task
def watch() -> None:
    """Show that tasks are done, and tell the coordinators and the web hook if members are not being told."""
    with told_without_room():
        note_whether_store_answers()
        actions.note_task_done()
        now = timezone.now()
        sound_alarm(now)
        note_turn(duty(), now)
        post_turns()


@app.task
def note_feed_reads() -> None:
    """Write down which calendar feeds were read."""
    actions.note_feed_reads()
