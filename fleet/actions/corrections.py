"""Checks and completions that were entered wrongly: corrected, or voided so that they no longer count.

Their history keeps what they were. Whose car or credential it is gets a mail about what somebody else changed.
"""

from collections.abc import Collection
from datetime import date

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from config import showing
from config.history import lock, put, save_as
from fleet.actions.acts import tell_of_change
from fleet.actions.due_items import locked_item, move_item
from fleet.actions.odometer import check_reading, lock_car, refuse_future
from fleet.core.points import POINTS
from fleet.models import Completion, Defect, WalkaroundCheck
from fleet.queries import after_void
from instructors.models import Member


@transaction.atomic
def correct_check(
    *, by: Member, check: WalkaroundCheck, checked_on: date, points: Collection[str], note: str = ""
) -> WalkaroundCheck:
    """Correct the day and the note of a check, or say which of its ``points`` were looked at after all.

    Points can only be taken out: what was not looked at then is looked at in a new check. The defects that it found
    stay as they are. The same again changes nothing. Raises ValidationError on the field that is wrong.
    """
    refuse_future("checked_on", checked_on)
    car, row = lock_car(check.car), lock(check)
    _refuse_voided(row.voided_at is not None)
    kept = [point for point in row.points if point in set(points)]
    if not kept:
        raise ValidationError({"points": "Leave at least one point, or void the check."})
    faulty = set(Defect.objects.filter(walkaround=row).values_list("point", flat=True)) - set(kept) - {""}
    if faulty & set(row.points):
        words = ", ".join(POINTS[name].words if name in POINTS else name for name in sorted(faulty))
        raise ValidationError({"points": f"A defect was found there, so it was looked at: {words}."})
    was = _words_of(row)
    is_whole = row.is_whole and kept == row.points
    if changed := put(row, {"checked_on": checked_on, "points": kept, "note": note, "is_whole": is_whole}):
        row.clean_fields()
        save_as(by, row, *changed, reason="Corrected")
        tell_of_change(by, car, "check", was, _words_of(row))
    return row


@transaction.atomic
def void_check(*, by: Member, check: WalkaroundCheck, reason: str) -> WalkaroundCheck:
    """Void a check, so that it no longer counts. The defects that it found stay, each until it is put right itself.

    Voiding it again changes nothing.
    """
    car, row = lock_car(check.car), lock(check)
    if row.voided_at is None:
        row.voided_at = timezone.now()
        save_as(by, row, "voided_at", reason=f"Voided: {reason}")
        for defect in Defect.objects.filter(walkaround=row):
            # An archive holds no voided check that a defect could name.
            defect.walkaround = None
            save_as(by, defect, "walkaround", reason="Its check was voided")
        tell_of_change(by, car, "check", _words_of(row), f"voided: {reason}")
    return row


@transaction.atomic
def correct_completion(
    *, by: Member, completion: Completion, done_on: date, odometer: int | None, note: str
) -> Completion:
    """Correct the record of how an item was met; when it falls due again stays as it is.

    Raises ValidationError on ``done_on`` if the day is yet to come or has a completion of this item already, on
    ``odometer`` if it cannot have shown that.
    """
    refuse_future("done_on", done_on)
    item = locked_item(completion.due_item)
    row = lock(completion)
    _refuse_voided(row.voided_at is not None)
    was = f"{item.title}, done on {showing.day(row.done_on)}"
    changed = put(row, {"done_on": done_on, "odometer": odometer, "note": note})
    standing = item.completions.filter(done_on=done_on, voided_at__isnull=True)
    if standing.exclude(pk=row.pk).exists():
        raise ValidationError({"done_on": f"It is recorded as done on {showing.day(done_on)} already."})
    if odometer is not None and item.car is not None and {"done_on", "odometer"} & changed.keys():
        check_reading(by, item.car, done_on, odometer, field="odometer")
    if changed:
        row.clean_fields()
        save_as(by, row, *changed, reason="Corrected")
        tell_of_change(by, item, "completion", was, f"{item.title}, done on {showing.day(done_on)}")
    return row


@transaction.atomic
def void_completion(*, by: Member, completion: Completion, reason: str) -> Completion:
    """Void the record of how an item was met; the item then falls due as it did before.

    That is left as it is if the item was met again or changed since: ``fleet.queries.after_void`` says so. The odometer
    reading and the cost of it stay. Voiding it again changes nothing.
    """
    item = locked_item(completion.due_item)
    row = lock(completion)
    if row.voided_at is not None:
        return row
    after = after_void(row, item)
    row.voided_at = timezone.now()
    save_as(by, row, "voided_at", reason=f"Voided: {reason}")
    if after.is_put_back:
        move_item(by, item, {"due_on": after.due_on, "due_miles": after.due_miles, "closed_on": None})
    was = f"{item.title}, done on {showing.day(row.done_on)}"
    tell_of_change(by, item, "completion", was, f"voided: {reason}")
    return row


def _refuse_voided(is_voided: bool) -> None:
    if is_voided:
        raise ValidationError("This was voided: record it again if it was right after all.", code="voided")


def _words_of(check: WalkaroundCheck) -> str:
    count = len(check.points)
    return f"{showing.day(check.checked_on)}, {count} point{'s' if count > 1 else ''}"
