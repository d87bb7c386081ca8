"""The mails: reminders, in at most one mail a member a day, and the others that use the same outbox.

A plan writes rows: notices and queued mails. A delivery claims one mail and sends it. Both may run any number of
times, in any number of processes at once.
"""

from fleet.reminders.delivery import Delivery, DeliveryResult, deliver_mail
from fleet.reminders.letters import ToldStep
from fleet.reminders.outbox import mails_to_send
from fleet.reminders.planning import Plan, plan_reminders
from fleet.reminders.runs import RunResult, finish_run, members_to_serve, run_reminders, start_run
from fleet.reminders.watching import note_turn, post_turns, sound_alarm, told_without_room

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
    "note_turn",
    "plan_reminders",
    "post_turns",
    "run_reminders",
    "sound_alarm",
    "start_run",
    "told_without_room",
]
