"""Cover that was paid for: a cost entry that runs until a day moves the due item of that kind."""

from datetime import date

from django.db import transaction
from django.utils import timezone

from config.history import save_as
from fleet.actions.due_items import ensure_due_item
from fleet.actions.odometer import lock_car
from fleet.core.recurrence import leaves_no_gap
from fleet.models import Car, DueItem
from instructors.models import Member

#: What the history of a due item says of days that follow from costs: they are nobody's own word.
_PAID, _TAKEN_BACK = "Paid for by a cost", "A cost was changed or taken back"


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
    before counts again, with its booking; without either the day is unknown again. If the due item no longer says
    ``was``, somebody has set it since, and it is left alone.
    """
    lock_car(car)
    item = DueItem.objects.filter(car=car, kind=kind, closed_on__isnull=True, due_on=was).first()
    if item is None or until == was:
        return
    item.due_on = until
    entered_on, booked_for = _entered(item, was)
    if entered_on is not None and (until is None or entered_on >= until):
        item.due_on, item.booked_for = entered_on, booked_for
    save_as(by, item, "due_on", "booked_for", reason=_TAKEN_BACK)


def _entered(item: DueItem, was: date) -> tuple[date | None, date | None]:
    """Return the day, and its booking, that somebody entered last other than ``was``; costs enter none."""
    entered: tuple[date | None, date | None] = (None, None)
    day, is_entered = None, False
    rows = item.history.order_by("history_date", "history_id")
    for due_on, booked_for, reason in rows.values_list("due_on", "booked_for", "history_change_reason"):
        if due_on != day:
            is_entered = reason not in (_PAID, _TAKEN_BACK) and due_on != was
        if is_entered:
            entered = due_on, booked_for
        day = due_on
    return entered
