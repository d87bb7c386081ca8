"""Defects of a car: reported, taken in hand, reopened. ``repairs`` closes and reassesses them.

Each of these adds a ``DefectStep``; none is ever removed. The car is locked first, then the defect.
"""

from datetime import date
from typing import Any

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils import timezone

from config.history import save_as
from fleet.actions.acts import queue_mail
from fleet.actions.defect_steps import locked_defect, move, refuse_closed, refuse_too_many, require_words, write_step
from fleet.actions.odometer import lock_car, refuse_future
from fleet.actions.photos import keep_photo
from fleet.core.defects import Severity
from fleet.models import Car, Defect, DefectState, FoundBy, MailKind, WalkaroundCheck
from instructors.models import Member


@transaction.atomic
def report_defect(
    *,
    by: Member,
    car: Car,
    ref: str,
    severity: str,
    description: str,
    found_on: date,
    found_by: str = FoundBy.OTHER,
    point: str = "",
    walkaround: WalkaroundCheck | None = None,
    picture: bytes | None = None,
    along_with: Defect | None = None,
) -> tuple[Defect, bool]:
    """Record what is wrong with a car. Returns the defect and whether it is new.

    A ``ref`` sent before returns what was reported then. ``picture`` is a JPEG that the book encoded itself.
    ``along_with`` is the first defect of the same check or test: one mail tells of all. Raises ValidationError on the
    field that is wrong, and on no field if too many are open.
    """
    car = lock_car(car)
    sent_before = Defect.objects.filter(reported_by=by, ref=ref).select_related("car__keeper")
    if first := sent_before.first():
        return first, False
    refuse_future("found_on", found_on)
    refuse_too_many(car)
    defect = Defect(
        ref=ref,
        car=car,
        severity=severity,
        description=description,
        point=point,
        found_by=found_by,
        found_on=found_on,
        walkaround=walkaround,
        reported_by=by,
    )
    defect.clean_fields()
    try:
        with transaction.atomic():
            save_as(by, defect)
    except IntegrityError:  # the same reference sent at once for two cars shares no lock
        return sent_before.get(), False
    if photo := keep_photo(by=by, car=car, picture=picture, is_of_defect=True):
        defect.photo = photo
        save_as(by, defect, "photo")
    began_with = along_with.steps.earliest("pk") if along_with else None
    write_step(by, defect, found_on, "defect_reported", began_with=began_with)
    return defect, True


@transaction.atomic
def take_in_hand(*, by: Member, defect: Defect, words: str = "") -> Defect:
    """Record that somebody is dealing with it; it still counts as open. If already in hand, nothing changes.

    Raises ValidationError for one that is said to be put right already.
    """
    defect = locked_defect(defect)
    refuse_closed(defect)
    if defect.state == DefectState.WAITING:
        raise ValidationError("It is said to be put right: say first that it is not.", code="waiting")
    if defect.state != DefectState.IN_HAND:
        move(by, defect, timezone.localdate(), "defect_in_hand", words, state=DefectState.IN_HAND)
    return defect


@transaction.atomic
def reopen_defect(*, by: Member, defect: Defect, words: str) -> Defect:
    """Reopen a closed defect, or say of one that waits for a second member that it is not put right; with the reason.

    An open one stays as it is.
    """
    defect = locked_defect(defect)
    if defect.state not in (DefectState.CLOSED, DefectState.WAITING):
        return defect
    require_words(words, "Say what is still wrong, or wrong again.")
    if defect.state == DefectState.CLOSED:
        refuse_too_many(defect.car)
    event = "defect_denied" if defect.state == DefectState.WAITING else "defect_reopened"
    opened: dict[str, Any] = {"state": DefectState.OPEN, "closed_on": None}
    move(by, defect, timezone.localdate(), event, words, **opened)
    return defect


def tell_new_keeper(car: Car) -> None:
    """Mail the present keeper, once, about all open defects for which the car must not be used for lessons."""
    still_open = Defect.objects.filter(car=car).exclude(state=DefectState.CLOSED)
    if any(Severity(defect.severity).stops_car for defect in still_open):
        queue_mail(to=car.keeper, kind=MailKind.DEFECT, about=f"car-{car.pk}")
