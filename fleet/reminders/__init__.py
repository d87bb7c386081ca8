"""The reminders: what is told to whom, once, in one mail a member a day.

Work is a row: a plan writes notices and queued mails, a delivery claims one mail and sends it. Both may run
any number of times, in any number of processes at once.
"""

from fleet.reminders.delivery import Delivery, Outcome, Told, deliver_mail
from fleet.reminders.outbox import mails_to_send
from fleet.reminders.planning import Plan, plan_reminders
from fleet.reminders.running import RunResult, finish_run, has_run, run_reminders, start_run

__all__ = [
    "Delivery",
    "Outcome",
    "Plan",
    "RunResult",
    "Told",
    "deliver_mail",
    "finish_run",
    "has_run",
    "mails_to_send",
    "plan_reminders",
    "run_reminders",
    "start_run",
]
