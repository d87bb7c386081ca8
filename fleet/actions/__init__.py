"""Every change to odometers and due items. Keyword only, first ``by=`` the member who acts.

What the book does not allow is a ``ValidationError`` keyed by the field it belongs to, in words for the
person who asked. Who may act on what is settled before: views fetch with ``fleet.queries``.
"""

from fleet.actions.cover import extend_cover, shorten_cover
from fleet.actions.due_items import (
    add_due_item,
    book_due_item,
    change_due_item,
    complete_due_item,
    ensure_due_item,
)
from fleet.actions.mails import queue_mail
from fleet.actions.odometer import check_reading, lock_car, record_reading
from fleet.actions.photos import keep_photo

__all__ = [
    "add_due_item",
    "book_due_item",
    "change_due_item",
    "check_reading",
    "complete_due_item",
    "ensure_due_item",
    "extend_cover",
    "keep_photo",
    "lock_car",
    "queue_mail",
    "record_reading",
    "shorten_cover",
]
