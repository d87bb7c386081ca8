"""Entering a car, and handing one on."""

from datetime import date
from typing import Any

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils import timezone

from config.showing import day
from fleet.actions.defects import tell_new_keeper
from fleet.actions.odometer import lock_car, record_reading
from fleet.actions.saving import save_as
from fleet.core.registration import normalise, show
from fleet.models import Car
from instructors.models import Member

_MARK_LENGTHS = range(2, 9)


@transaction.atomic
def add_car(
    *,
    by: Member,
    keeper: Member,
    registration: str,
    fuel: str,
    in_service_from: date,
    odometer: int | None = None,
    **terms: Any,
) -> Car:
    """Enter a car that ``keeper`` keeps; ``terms`` are other fields of `Car`.

    ``odometer``: the miles it showed on the day it came into service or, if that is yet to come, shows today.
    Entered again in the same words it gives back the first. Raises ValidationError on the field that is wrong, on
    ``registration`` if the mark is in the book already: whose car that is stays untold. Raises PermissionError for
    a member who enters a car for somebody else.
    """
    if keeper != by and not by.is_coordinator:
        raise PermissionError("only a coordinator enters a car for somebody else")
    car = Car(registration=_mark(registration), keeper=keeper, fuel=fuel, in_service_from=in_service_from, **terms)
    car.clean_fields()
    if car.first_registered and in_service_from < car.first_registered:
        words = f"It is in use from {day(in_service_from)}: it cannot have been registered first after that."
        raise ValidationError({"first_registered": words})
    if there := Car.objects.filter(registration=car.registration).first():
        return _same_or_refused(there, car)
    try:
        with transaction.atomic():
            save_as(by, car)
    except IntegrityError:  # somebody else was quicker
        return _same_or_refused(Car.objects.get(registration=car.registration), car)
    if odometer is not None:
        read_on = min(in_service_from, timezone.localdate())
        try:
            record_reading(by=by, car=car, read_on=read_on, miles=odometer)
        except ValidationError as refusal:
            raise ValidationError({"odometer": refusal.messages}) from refusal
    return car


@transaction.atomic
def hand_on_car(*, by: Member, car: Car, keeper: Member) -> Car:
    """Make ``keeper`` the one who keeps the car from now on; what was logged stays with whoever logged it.

    They are mailed each defect that keeps it off the road. Raises ValidationError on ``keeper`` for somebody who has
    left, PermissionError unless a coordinator does it.
    """
    if not by.is_coordinator:
        raise PermissionError("only a coordinator says who keeps a car")
    if not keeper.belongs_on(timezone.localdate()):
        raise ValidationError({"keeper": "Choose somebody who has not left."})
    lock_car(car)
    current = Car.objects.get(pk=car.pk)
    if current.keeper_id != keeper.pk:
        current.keeper = keeper
        save_as(by, current, "keeper")
        tell_new_keeper(current)
    return current


def _mark(typed: str) -> str:
    mark = normalise(typed)
    if len(mark) not in _MARK_LENGTHS or not (mark.isascii() and mark.isalnum()):
        raise ValidationError({"registration": "Write the mark as on the plate, such as QA51 ABC."})
    return mark


def _same_or_refused(there: Car, car: Car) -> Car:
    names = [field.attname for field in Car._meta.concrete_fields if not field.primary_key]
    if all(getattr(there, name) == getattr(car, name) for name in names):
        return there
    words = f"{show(car.registration)} is in the book already. A coordinator can say who keeps it, or mend its entry."
    raise ValidationError({"registration": words}, code="mark_taken")
