"""Every change to cars, their due items and their condition. Keyword only; ``by=`` is the member who acts.

What the book does not allow raises ``ValidationError`` on the field, in words for the person who asked. Who may act on
what is decided earlier: views fetch with ``fleet.queries``.
"""

from fleet.actions.acts import queue_backup_alarm, queue_mail
from fleet.actions.cars import add_car, change_service, correct_car
from fleet.actions.checks import PointFault, add_check_point, record_group, retire_check_point
from fleet.actions.completions import Bill, complete_due_item
from fleet.actions.confirmations import NOTHING_ASKED, Answers, answer_about_policy, confirm_points
from fleet.actions.corrections import correct_check, correct_completion, void_check, void_completion
from fleet.actions.cover import PAID_IN_ARCHIVE, extend_cover, shorten_cover
from fleet.actions.defects import reopen_defect, report_defect, take_in_hand
from fleet.actions.due_items import (
    add_due_item,
    book_due_item,
    change_due_item,
    ensure_due_item,
)
from fleet.actions.erasure import keep_miles
from fleet.actions.feeds import note_feed_reads, open_feed, remember_feed_read, revoke_feed
from fleet.actions.keepers import end_time, hand_over
from fleet.actions.leaving import Becomes, leave
from fleet.actions.mot import record_mot_failure, record_mot_pass
from fleet.actions.odometer import (
    check_reading,
    correct_reading,
    lock_car,
    lock_every_car,
    record_reading,
    remove_reading,
)
from fleet.actions.photos import keep_photo
from fleet.actions.pulses import note_schedule_kept, note_task_done
from fleet.actions.repairs import close_defect, confirm_repair, deny_repair, reassess_defect
from fleet.actions.tread import record_tread, replace_tyres, rotate_tyres

__all__ = [
    "NOTHING_ASKED",
    "PAID_IN_ARCHIVE",
    "Answers",
    "Becomes",
    "Bill",
    "PointFault",
    "add_car",
    "add_check_point",
    "add_due_item",
    "answer_about_policy",
    "book_due_item",
    "change_due_item",
    "change_service",
    "check_reading",
    "close_defect",
    "complete_due_item",
    "confirm_points",
    "confirm_repair",
    "correct_car",
    "correct_check",
    "correct_completion",
    "correct_reading",
    "deny_repair",
    "end_time",
    "ensure_due_item",
    "extend_cover",
    "hand_over",
    "keep_miles",
    "keep_photo",
    "leave",
    "lock_car",
    "lock_every_car",
    "note_feed_reads",
    "note_schedule_kept",
    "note_task_done",
    "open_feed",
    "queue_backup_alarm",
    "queue_mail",
    "reassess_defect",
    "record_group",
    "record_mot_failure",
    "record_mot_pass",
    "record_reading",
    "record_tread",
    "remember_feed_read",
    "remove_reading",
    "reopen_defect",
    "replace_tyres",
    "report_defect",
    "retire_check_point",
    "revoke_feed",
    "rotate_tyres",
    "shorten_cover",
    "take_in_hand",
    "void_check",
    "void_completion",
]
