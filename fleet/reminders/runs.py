"""One whole run of the reminders, the row that shows that it happened, and the alarm when none has."""

from datetime import date, datetime
from typing import NamedTuple

from django.db.models import Max
from django.utils import timezone

from fleet.actions import queue_mail
from fleet.models import MailKind, ReminderRun
from fleet.queries import reminders_are_late
from fleet.reminders.delivery import DeliveryResult, deliver_mail
from fleet.reminders.letters import ToldStep
from fleet.reminders.outbox import mails_to_send
from fleet.reminders.planning import Plan, plan_reminders
from instructors.models import REMINDER_HOUR, Member
from instructors.queries import active_members, cooperative, coordinators

_LAST_HOUR = 23


class RunResult(NamedTuple):
    """What a run told, how many steps had been told before it, and why what failed could not be sent."""

    told: list[ToldStep]
    already_told_count: int
    failures: list[str]


def run_reminders(on: date) -> RunResult:
    """Do at once all that the schedule does in the course of ``on``: serve everybody, whatever their hour.

    A reminder refused earlier is tried now, however long its wait was to be.
    """
    run = start_run(on, _LAST_HOUR)
    plan = plan_reminders(on)
    deliveries = [deliver_mail(mail_id, on, at_once=True) for mail_id in plan.mail_ids]
    finish_run(run, plan)
    return RunResult(
        [told for delivery in deliveries for told in delivery.told],
        plan.already_told_count,
        [delivery.error for delivery in deliveries if delivery.result is DeliveryResult.REFUSED],
    )


def members_to_serve(on: date, hour: int) -> list[Member]:
    """Those whose own hour, or the co-op's, has come by ``hour``, and whom no finished run of ``on`` has served."""
    finished = ReminderRun.objects.filter(day=on, finished_at__isnull=False)
    served_until = finished.aggregate(hour=Max("hour", default=-1))["hour"]
    usual = cooperative().reminder_hour
    return [member for member in active_members(on) if served_until < (member.reminder_hour or usual) <= hour]


def start_run(on: date, hour: int) -> ReminderRun:
    """Write down that a run for ``on`` has begun, for the members whose hour is ``hour`` or earlier."""
    return ReminderRun.objects.create(day=on, hour=hour)


def finish_run(run: ReminderRun, plan: Plan) -> None:
    """Write down that a run has done its work, with its counts."""
    run.finished_at = timezone.now()
    run.new_notice_count, run.already_told_count = plan.new_count, plan.already_told_count
    run.mail_count = len(plan.mail_ids)
    run.save(update_fields=["finished_at", "new_notice_count", "already_told_count", "mail_count"])


def sound_alarm(now: datetime) -> None:
    """Tell every coordinator, once a day, that no run has finished for too long; nothing if one has.

    Sent by this process at once, never in a transaction: the worker may be what has stopped. Not between
    midnight and four, when nothing runs that could have put it right.
    """
    local = timezone.localtime(now)
    if local.hour < REMINDER_HOUR.least or not reminders_are_late(now):
        return
    for coordinator in coordinators(local.date()):
        queue_mail(to=coordinator, kind=MailKind.ALARM)
    for mail_id in mails_to_send(local.date(), kinds=[MailKind.ALARM]):
        deliver_mail(mail_id, local.date())
