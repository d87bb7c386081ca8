"""Walkaround checks, and the points that a co-op adds to them."""

from collections.abc import Collection
from datetime import date
from typing import NamedTuple
from uuid import NAMESPACE_OID, uuid4, uuid5

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils import timezone

from config import showing
from config.history import lock, save_as
from fleet.actions.acts import note_act
from fleet.actions.defects import report_defect
from fleet.actions.odometer import lock_car, refuse_future
from fleet.core.points import Point
from fleet.models import Car, CheckPoint, Defect, FoundBy, WalkaroundCheck
from fleet.queries import points_in_use
from instructors.models import Member


class PointFault(NamedTuple):
    """What is wrong with one point; ``picture`` is a JPEG that the book encoded itself."""

    point: str
    severity: str
    description: str = ""
    picture: bytes | None = None


@transaction.atomic
def record_check(
    *,
    by: Member,
    car: Car,
    ref: str,
    checked_on: date,
    points: Collection[str],
    faults: Collection[PointFault] = (),
    note: str = "",
) -> tuple[WalkaroundCheck, bool]:
    """Record a walkaround check, with a defect for each fault. Returns the check and whether it is new.

    ``points`` names all that was looked at, the faulty ones included. A ``ref`` sent before returns the check
    recorded then. Raises ValidationError on ``checked_on`` or ``points``.
    """
    car = lock_car(car)
    sent_before = WalkaroundCheck.objects.filter(member=by, ref=ref)
    if first := sent_before.first():
        return first, False
    refuse_future("checked_on", checked_on)
    known = {point.name: point for point in points_in_use(checked_on)}
    looked_at = [name for name in known if name in set(points)]
    _refuse_unknown(looked_at, points, faults)
    check = WalkaroundCheck(ref=ref, car=car, member=by, checked_on=checked_on, points=looked_at, note=note)
    check.clean_fields()
    try:
        with transaction.atomic():
            save_as(by, check)
    except IntegrityError:  # the same reference sent at once for two cars shares no lock
        return sent_before.get(), False
    note_act(by, car, "checked", showing.day(checked_on))
    first: Defect | None = None
    for fault in faults:
        found = _report(by, check, known[fault.point], fault, first)
        first = first or found
    return check, True


def _refuse_unknown(looked_at: Collection[str], points: Collection[str], faults: Collection[PointFault]) -> None:
    """Raise ValidationError if nothing was looked at, or something that is no point of the check."""
    if not looked_at:
        raise ValidationError({"points": "Say what was looked at."})
    if set(points) - set(looked_at):
        raise ValidationError({"points": "One of these points is no longer in use: reload the page."})
    if {fault.point for fault in faults} - set(looked_at):
        raise ValidationError({"points": "What is wrong must be among what was looked at."})


def _report(by: Member, check: WalkaroundCheck, point: Point, fault: PointFault, first: Defect | None) -> Defect:
    defect, _ = report_defect(
        by=by,
        car=check.car,
        # Unique to this check and point; the column is too short to hold both.
        ref=str(uuid5(NAMESPACE_OID, f"{check.ref} {point.name}")),
        severity=fault.severity,
        description=f"{point.words}: {fault.description}" if fault.description else point.words,
        found_on=check.checked_on,
        found_by=FoundBy.CHECK,
        point=point.name,
        walkaround=check,
        picture=fault.picture,
        along_with=first,
    )
    return defect


@transaction.atomic
def add_check_point(*, by: Member, group: str, words: str, look_for: str = "") -> CheckPoint:
    """Add a point to every check from today. If its group has one with the same words in use, returns that."""
    same = CheckPoint.objects.filter(group=group, words__iexact=words, retired_on__isnull=True)
    if point := same.first():
        return point
    # Never a name that the book's own list may get later.
    point = CheckPoint(name=f"own-{uuid4().hex[:12]}", group=group, words=words, look_for=look_for, added_by=by)
    point.clean_fields()
    save_as(by, point)
    return point


@transaction.atomic
def retire_check_point(*, by: Member, point: CheckPoint) -> CheckPoint:
    """Drop a point from today. Earlier checks keep it; if it is already retired, nothing changes."""
    point = lock(point)
    if point.retired_on is None:
        point.retired_on = timezone.localdate()
        save_as(by, point, "retired_on")
    return point
