"""Cover that was paid for: a cost entry until a day moves the due item of that kind."""

from datetime import date

from django.db import transaction
from django.utils import timezone

from config.history import save_as
from fleet.actions.due_items import ensure_due_item
from fleet.actions.odometer import lock_car
from fleet.core.recurrence import leaves_no_gap
from fleet.models import Car, DueItem
from instructors.models import Member


@transaction.atomic
def extend_cover(*, by: Member, car: Car, kind: str, since: date, until: date) -> None:
    """The cover of ``kind`` runs until ``until`` now, unless it runs longer already.

    Makes the due item if there is none. No completion is left: the cost entry is the record of it. Cover that
    begins only after a gap moves nothing: on the days between the car has none.
    """
    lock_car(car)
    item = DueItem.objects.filter(car=car, kind=kind, closed_on__isnull=True).first()
    until_now = item.due_on if item else None
    if not leaves_no_gap(since, until_now, timezone.localdate()):
        return
    item = item or ensure_due_item(by=by, car=car, kind=kind, terms={"due_on": until})
    if item.due_on is None or item.due_on < until:
        item.due_on, item.booked_for = until, None
        save_as(by, item, "due_on", "booked_for")


@transaction.atomic
def shorten_cover(*, by: Member, car: Car, kind: str, was: date, until: date | None) -> None:
    """Take back what a cost entry, now corrected or voided, had said: not until ``was`` but until ``until``.

    ``until`` is what the entries that still stand pay for, None for nothing: then it is unknown again. Where
    the due item says another day than ``was``, somebody has set it since, and it is left alone.
    """
    lock_car(car)
    item = DueItem.objects.filter(car=car, kind=kind, closed_on__isnull=True, due_on=was).first()
    if item is not None and until != was:
        item.due_on = until
        save_as(by, item, "due_on")
