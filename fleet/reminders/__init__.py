"""The mails: the reminders, told once in one mail a member a day, and the others that go through the same outbox.

Work is a row: a plan writes notices and queued mails, a delivery claims one mail and sends it. Both may run
any number of times, in any number of processes at once.
"""

from fleet.reminders.delivery import Delivery, DeliveryResult, deliver_mail
from fleet.reminders.letters import ToldStep
from fleet.reminders.outbox import mails_to_send
from fleet.reminders.planning import Plan, plan_reminders
from fleet.reminders.runs import RunResult, finish_run, members_to_serve, run_reminders, sound_alarm, start_run

__all__ = [
    "Delivery",
    "DeliveryResult",
    "Plan",
    "RunResult",
    "ToldStep",
    "deliver_mail",
    "finish_run",
    "mails_to_send",
    "members_to_serve",
    "plan_reminders",
    "run_reminders",
    "sound_alarm",
    "start_run",
]
