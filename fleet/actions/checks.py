"""Walkaround checks, and the points that a co-op adds to them."""

from collections.abc import Collection, Mapping, Sequence
from datetime import date
from typing import Any, NamedTuple
from uuid import NAMESPACE_OID, UUID, uuid5

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils import timezone

from config import showing
from config.history import lock, put, save_as
from fleet.actions.acts import note_act
from fleet.actions.defects import report_defect
from fleet.actions.odometer import lock_car, refuse_future
from fleet.core.points import Point, next_step, steps_of_walk
from fleet.models import Car, CheckPoint, Defect, FoundBy, WalkaroundCheck
from fleet.queries import check_sent, points_in_use
from instructors.models import Member


class PointFault(NamedTuple):
    """What is wrong with one point; ``picture`` is a JPEG that the book encoded itself."""

    point: str
    severity: str
    description: str = ""
    picture: bytes | None = None


@transaction.atomic
def record_group(
    *,
    by: Member,
    car: Car,
    ref: str,
    checked_on: date,
    group: str,
    faults: Collection[PointFault] = (),
    seconds: int | None = None,
    note: str = "",
) -> tuple[WalkaroundCheck, list[Defect]]:
    """Record that one group of a walkaround check was looked at. Returns the check and the defects that are new.

    The first group makes the check, any other adds to it: what was found in one is in the book, and told, before the
    next is looked at. The same again changes nothing; a group sent once more may add faults. ``seconds`` are those
    that its page was open, None if that is not known. Raises ValidationError on ``checked_on`` or ``group``, and on no
    field if the check was voided.
    """
    car = lock_car(car)
    check = check_sent(by, ref)
    if check is not None and check.car_id != car.pk:
        return check, []
    if check is not None and check.voided_at is not None:
        raise ValidationError("This check was voided: begin a new one.", code="voided")
    if check is None:
        refuse_future("checked_on", checked_on)
        check = WalkaroundCheck(ref=ref, car=car, member=by, checked_on=checked_on)
    asked = points_in_use(car, check.checked_on)
    here = {point.name: point for point in asked if point.group == group}
    _refuse_unknown(here, faults)
    if not _save(by, check, {"note": note or check.note} | _with_group(check, asked, here, seconds)):
        return check_sent(by, ref) or check, []
    found: list[Defect] = []
    for fault in faults:
        try:
            defect, is_new = _report(by, check, here[fault.point], fault, found[0] if found else None)
        except ValidationError as refusal:
            if refusal_of := getattr(refusal, "error_dict", {}).get("picture"):
                # A check has a photo for each point.
                raise ValidationError({f"{fault.point}-photo": refusal_of}) from refusal
            raise
        found += [defect] if is_new else []
    return check, found


def _refuse_unknown(here: Collection[str], faults: Collection[PointFault]) -> None:
    """Raise ValidationError if a group has no point for this car, or a fault is of something else."""
    if not here:
        raise ValidationError({"group": "This part of the check does not apply to this car."})
    if {fault.point for fault in faults} - set(here):
        raise ValidationError({"group": "One of these points is no longer in use: reload the page."})


def _save(by: Member, check: WalkaroundCheck, changes: Mapping[str, Any]) -> bool:
    """Write the check anew, or what of it changes; False if its reference was used for another car meanwhile."""
    is_new = check.pk is None
    changed = put(check, changes)
    check.clean_fields()
    try:
        with transaction.atomic():
            if is_new:
                save_as(by, check)
            elif changed:
                save_as(by, check, *changed)
    except IntegrityError:  # the same reference sent at once for two cars shares no lock
        return False
    if is_new:
        note_act(by, check.car, "checked", showing.day(check.checked_on))
    return True


def _with_group(
    check: WalkaroundCheck, asked: Sequence[Point], here: Collection[str], seconds: int | None
) -> dict[str, Any]:
    """What changes about a check once the points ``here`` were looked at too; nothing if they were already."""
    if set(here) <= set(check.points):
        return {}
    looked_at = {*check.points, *here}
    in_order = [point.name for point in asked if point.name in looked_at]
    # A point that the co-op has dropped since it was looked at stays.
    dropped = [name for name in check.points if name not in in_order]
    return {
        "points": [*in_order, *dropped],
        "is_whole": next_step(steps_of_walk(asked, looked_at)) is None,
        "seconds": _together(check, seconds),
    }


def _together(check: WalkaroundCheck, seconds: int | None) -> int | None:
    """How long the check has taken with a group that took ``seconds``; None once any part of it is not known."""
    before = check.seconds if check.pk else 0
    if seconds is None or before is None or check.checked_on != timezone.localdate():
        return None
    return before + seconds


def _report(
    by: Member, check: WalkaroundCheck, point: Point, fault: PointFault, first: Defect | None
) -> tuple[Defect, bool]:
    return report_defect(
        by=by,
        car=check.car,
        # Unique to this check and to what was said; the column is too short to hold all of it.
        ref=str(uuid5(NAMESPACE_OID, f"{check.ref} {point.name} {fault.severity} {fault.description}")),
        severity=fault.severity,
        description=f"{point.words}: {fault.description}" if fault.description else point.words,
        found_on=check.checked_on,
        found_by=FoundBy.CHECK,
        point=point.name,
        walkaround=check,
        picture=fault.picture,
        along_with=first,
    )


@transaction.atomic
def add_check_point(*, by: Member, ref: str, group: str, words: str, look_for: str = "") -> CheckPoint:
    """Add a point to every check from today.

    If its group has one with the same words in use, returns that; a ``ref``, which is a UUID, that was sent before
    returns what was added then.
    """
    # Never a name that the book's own list may get later, and the same for whoever sends the same form at once.
    name = f"own-{UUID(ref).hex}"
    same = CheckPoint.objects.filter(group=group, words__iexact=words, retired_on__isnull=True)
    if point := same.first() or CheckPoint.objects.filter(name=name).first():
        return point
    point = CheckPoint(name=name, group=group, words=words, look_for=look_for, added_by=by)
    point.clean_fields()
    try:
        with transaction.atomic():
            save_as(by, point)
    except IntegrityError:  # the same form, sent at once, was quicker
        return CheckPoint.objects.get(name=name)
    return point


@transaction.atomic
def retire_check_point(*, by: Member, point: CheckPoint) -> CheckPoint:
    """Drop a point from today. Earlier checks keep it; if it is already retired, nothing changes."""
    point = lock(point)
    if point.retired_on is None:
        point.retired_on = timezone.localdate()
        save_as(by, point, "retired_on")
    return point
