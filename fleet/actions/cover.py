"""Cover that was paid for: a cost entry that runs until a day moves the due item of that kind."""

from datetime import date
from typing import NamedTuple

from django.db import transaction
from django.utils import timezone

from config.history import delete_as, save_as
from fleet.actions.due_items import ensure_due_item
from fleet.actions.odometer import lock_car
from fleet.core.recurrence import leaves_no_gap
from fleet.models import Car, DueItem
from instructors.models import Member

#: What the history of a due item says of days that follow from costs: they are nobody's own word.
_PAID, _TAKEN_BACK = "Paid for by a cost", "A cost was changed or taken back"
PAID_IN_ARCHIVE = "Taken from the cover of a cost entry that was loaded from an archive"
_BY_COSTS = (_PAID, _TAKEN_BACK, PAID_IN_ARCHIVE)
#: And of a day that somebody had entered, once it counts again.
_PUT_BACK = "As it was before a cost"


@transaction.atomic
def extend_cover(*, by: Member, car: Car, kind: str, since: date, until: date) -> None:
    """Extend the cover of ``kind`` until ``until``, unless it already runs longer.

    Creates the due item if there is none, and no completion: the cost entry is the record. Cover that begins after a
    gap changes nothing, as the car has none in between.
    """
    lock_car(car)
    item = DueItem.objects.filter(car=car, kind=kind, closed_on__isnull=True).first()
    until_now = item.due_on if item else None
    if not leaves_no_gap(since, until_now, timezone.localdate()):
        return
    item = item or ensure_due_item(by=by, car=car, kind=kind, terms={"due_on": until}, reason=_PAID)
    if item.due_on is None or item.due_on < until:
        item.due_on, item.booked_for = until, None
        save_as(by, item, "due_on", "booked_for", reason=_PAID)


@transaction.atomic
def shorten_cover(*, by: Member, car: Car, kind: str, was: date, until: date | None) -> None:
    """Undo what a cost entry, now corrected or voided, had said: not until ``was`` but until ``until``.

    ``until`` is what the remaining entries pay for, None if they pay for nothing. A later day that somebody had entered
    before counts again; either has the booking that it had. Without either the day is unknown again, and an item that
    is there for costs alone is gone. If the item says ``was`` by somebody's own word, or no longer says it, no cost has
    moved it there, and it is left alone.
    """
    lock_car(car)
    item = DueItem.objects.filter(car=car, kind=kind, closed_on__isnull=True, due_on=was).first()
    if item is None or until == was:
        return
    told = _told(item)
    if not told or told[-1].is_entered:
        return
    entered_on = next((one.due_on for one in reversed(told) if one.is_entered), None)
    is_put_back = entered_on is not None and (until is None or entered_on >= until)
    item.due_on = entered_on if is_put_back else until
    if item.due_on is None and all(one.is_by_cost for one in told):
        delete_as(by, item)
        return
    item.booked_for = next((one.booked_for for one in reversed(told) if one.due_on == item.due_on), None)
    save_as(by, item, "due_on", "booked_for", reason=_PUT_BACK if is_put_back else _TAKEN_BACK)


class _Told(NamedTuple):
    """A row of an item's history: what it says, whether a cost wrote it, and whether somebody entered its day."""

    due_on: date | None
    booked_for: date | None
    is_by_cost: bool
    is_entered: bool


def _told(item: DueItem) -> list[_Told]:
    """Return the history of an item, oldest first; the day stays whose it is while it stays the same."""
    told: list[_Told] = []
    rows = item.history.order_by("history_date", "history_id")
    for due_on, booked_for, reason in rows.values_list("due_on", "booked_for", "history_change_reason"):
        is_by_cost = reason in _BY_COSTS
        is_same_day = bool(told) and told[-1].due_on == due_on
        told.append(_Told(due_on, booked_for, is_by_cost, told[-1].is_entered if is_same_day else not is_by_cost))
    return told
