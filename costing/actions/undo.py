"""Taking back what was just saved: one entry, or all that was saved together with what it replaced."""

from collections.abc import Iterator

from django.db import transaction
from django.utils import timezone

from config.history import lock, save_as
from costing.actions.cover import cover_bought, move_cover
from costing.actions.entries import check_odometer, end_entry, require_own
from costing.models import Batch, CostEntry, Entry, Fill, TeachingRecord
from fleet.actions import lock_car
from instructors.models import Member

_KINDS: tuple[type[Entry], ...] = (Fill, CostEntry, TeachingRecord)


def undo_entry(*, by: Member, entry: Entry) -> Entry:
    """Take back one of ``by``'s own entries: it is voided, and counts no longer. Undoing it again changes nothing."""
    return end_entry(by=by, entry=entry, reason="Undone")


@transaction.atomic
def undo_batch(*, by: Member, batch: Batch) -> bool:
    """Take back all entries of one of ``by``'s own batches, and put back those that it replaced.

    Returns whether anything was done: undoing it again changes nothing. Raises ValidationError, and changes nothing, if
    a fill that was replaced no longer fits what the car's odometer has shown since.
    """
    batch = lock(batch)
    require_own(batch, by)
    if batch.undone_at is not None:
        return False
    for entry in _entries(batch=batch, voided_at=None):
        end_entry(by=by, entry=entry, reason="Undone")
    for entry in _entries(replaced_by=batch):
        _put_back(entry, by)
    batch.undone_at = timezone.now()
    batch.save(update_fields=["undone_at"])
    return True


def _entries(**conditions: object) -> Iterator[Entry]:
    """Yield entries of all kinds, each with its car, by car: two that undo at once wait for each other."""
    for model in _KINDS:
        yield from model._default_manager.filter(**conditions).select_related("car").order_by("car_id", "pk")


def _put_back(entry: Entry, by: Member) -> None:
    entry.car = lock_car(entry.car)
    entry.voided_at, entry.replaced_by = None, None
    check_odometer(entry, entry.car)
    save_as(by, entry, "voided_at", "replaced_by", reason="Put back")
    move_cover(by=by, car=entry.car, before=None, after=cover_bought(entry))
