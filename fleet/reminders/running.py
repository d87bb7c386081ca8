"""One whole run of the reminders, and the row that shows that there was one."""

from datetime import date
from typing import NamedTuple

from django.utils import timezone

from fleet.models import ReminderRun
from fleet.reminders.delivery import Outcome, Told, deliver_mail
from fleet.reminders.planning import Plan, plan_reminders


class RunResult(NamedTuple):
    """What a run told, how many steps had been told before it, and why what failed could not be sent."""

    told: list[Told]
    already_told_count: int
    failures: list[str]


def run_reminders(on: date) -> RunResult:
    """Do at once all that the nightly task does for ``on``: plan, and send every mail of that day.

    A mail refused earlier is tried now, however long its wait was to be.
    """
    run = start_run(on)
    plan = plan_reminders(on)
    deliveries = [deliver_mail(mail_id, on, at_once=True) for mail_id in plan.mail_ids]
    finish_run(run, plan)
    return RunResult(
        [told for delivery in deliveries for told in delivery.told],
        plan.already_told_count,
        [delivery.error for delivery in deliveries if delivery.outcome is Outcome.REFUSED],
    )


def start_run(on: date) -> ReminderRun:
    """Write down that a run for ``on`` has begun."""
    return ReminderRun.objects.create(day=on)


def finish_run(run: ReminderRun, plan: Plan) -> None:
    """Write down that a run has done its work, with its counts."""
    run.finished_at = timezone.now()
    run.new_notice_count, run.already_told_count = plan.new_count, plan.already_told_count
    run.mail_count = len(plan.mail_ids)
    run.save(update_fields=["finished_at", "new_notice_count", "already_told_count", "mail_count"])


def has_run(on: date) -> bool:
    """Whether a run for ``on`` has done its work."""
    return ReminderRun.objects.filter(day=on, finished_at__isnull=False).exists()
