"""One whole run of the reminders, and the row that shows that it happened."""

from datetime import date
from typing import NamedTuple

from django.db.models import Max
from django.utils import timezone

from fleet.models import ReminderRun
from fleet.reminders.delivery import DeliveryResult, deliver_mail
from fleet.reminders.letters import ToldStep
from fleet.reminders.planning import Plan, plan_reminders
from instructors.models import Member
from instructors.queries import active_members, cooperative

_LAST_HOUR = 23


class RunResult(NamedTuple):
    """The steps a run told, how many had been told before, and the errors of what could not be sent."""

    told: list[ToldStep]
    already_told_count: int
    failures: list[str]


def run_reminders(on: date) -> RunResult:
    """Do at once what the schedule does over the day ``on``: serve everybody, whatever their hour.

    A reminder refused earlier is tried now, whatever its wait.
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
    """The members whose own hour, or the co-op's, has come by ``hour`` and whom no finished run of ``on`` served."""
    finished = ReminderRun.objects.filter(day=on, finished_at__isnull=False)
    served_until = finished.aggregate(hour=Max("hour", default=-1))["hour"]
    usual = cooperative().reminder_hour
    return [member for member in active_members(on) if served_until < (member.reminder_hour or usual) <= hour]


def start_run(on: date, hour: int) -> ReminderRun:
    """Record that a run for ``on`` has begun, for the members whose hour is ``hour`` or earlier."""
    return ReminderRun.objects.create(day=on, hour=hour)


def finish_run(run: ReminderRun, plan: Plan) -> None:
    """Record that a run has finished, with its counts."""
    run.finished_at = timezone.now()
    run.new_notice_count, run.already_told_count = plan.new_count, plan.already_told_count
    run.mail_count = len(plan.mail_ids)
    run.save(update_fields=["finished_at", "new_notice_count", "already_told_count", "mail_count"])
