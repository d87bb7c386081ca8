"""Entering a car, and correcting what was entered."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils import timezone

from config.history import put, save_as
from config.showing import day
from fleet.actions.acts import notify
from fleet.actions.odometer import lock_car, record_reading, refuse_before_takeover
from fleet.core.defects import Severity
from fleet.core.registration import read, show
from fleet.models import Car, Defect, DefectState
from fleet.queries import keepers_since, raw_readings_of, took_over_on
from instructors.models import ActKind, Member


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
    Entering the same car again returns the first. Raises ValidationError on the field that is wrong, on
    ``registration`` if the mark is already in the book (without saying whose car it is), and PermissionError for a
    member who enters a car for somebody else.
    """
    if keeper != by and not by.is_coordinator:
        raise PermissionError("only a coordinator enters a car for somebody else")
    car = Car(registration=_mark(registration), keeper=keeper, fuel=fuel, in_service_from=in_service_from, **terms)
    car.clean_fields()
    _check_first_registered(car, field="first_registered")
    if there := Car.objects.filter(registration=car.registration).first():
        return _same_or_refused(there, car)
    try:
        with transaction.atomic():
            save_as(by, car)
    except IntegrityError:  # somebody else was quicker
        return _same_or_refused(Car.objects.get(registration=car.registration), car)
    notify(by, car, {"car": (None, show(car.registration))}, to=[keeper], kind=ActKind.CAR)
    if odometer is not None:
        read_on = min(in_service_from, timezone.localdate())
        try:
            record_reading(by=by, car=car, read_on=read_on, miles=odometer)
        except ValidationError as refusal:
            raise ValidationError({"odometer": refusal.messages}) from refusal
    return car


@transaction.atomic
def correct_car(*, by: Member, car: Car, registration: str, **details: Any) -> Car:
    """Correct a car's mark and other details; ``details`` are fields of `Car`.

    Its present and former keepers are mailed about what others change. The same again changes nothing. Raises
    ValidationError on the field that is wrong, on ``registration`` if another car in the book has that mark, or this
    one is dangerous.
    """
    _require_keeper_or_coordinator(by, car)
    current = lock_car(car)
    _require_keeper_or_coordinator(by, current)
    mark = _mark(registration)
    if Car.objects.filter(registration=mark).exclude(pk=current.pk).exists():
        raise ValidationError({"registration": f"{show(mark)} is in the book already."}, code="mark_taken")
    changes = _set(current, {"registration": mark, **details})
    if "registration" in changes and _has_open(current, *(one for one in Severity if one.stops_car)):
        # Under the mark that it bears it could then be entered anew, without its defect.
        words = "This car has a defect that keeps it off the road: its mark can be corrected once that is put right."
        raise ValidationError({"registration": words}, code="grave_defect")
    _check_first_registered(current, field="first_registered")
    try:
        with transaction.atomic():
            _save(by, current, changes)
    except IntegrityError as error:  # somebody else was quicker
        raise ValidationError({"registration": f"{show(mark)} is in the book already."}, code="mark_taken") from error
    if "registration" in changes:
        was, now = changes["registration"]
        changes["registration"] = (show(str(was)), show(str(now)))
    notify(by, current, changes, to=keepers_since(current), kind=ActKind.CAR)
    return current


@transaction.atomic
def change_service(
    *, by: Member, car: Car, in_service_from: date, in_service_to: date | None, odometer: int | None = None
) -> Car:
    """Correct a car's first and last day in service; None: no last day.

    ``odometer`` are the miles it showed on its last day in service: needed with a new last day that has come.
    Its present and former keepers are mailed about what others change, so that a coordinator who takes a car over for
    a day cannot end its service unseen. Raises ValidationError on the field that is wrong: the keeper can change
    nothing before the day they took the car over, and nobody can move the end of its service across that day. Nor can a
    keeper alone take a dangerous car out of sight.
    """
    _require_keeper_or_coordinator(by, car)
    current = lock_car(car)
    _require_keeper_or_coordinator(by, current)
    if in_service_to is not None and in_service_to < in_service_from:
        raise ValidationError({"in_service_to": f"It came into service on {day(in_service_from)}: give a later day."})
    changes = _set(current, {"in_service_from": in_service_from, "in_service_to": in_service_to})
    if not changes:
        return current
    if not by.is_coordinator and _has_open(current, Severity.DANGEROUS):
        # Out of service it would stand on no board and in no mail.
        words = "This car has a dangerous defect: a coordinator can change this, or you once that is put right."
        raise ValidationError(dict.fromkeys(changes, words), code="grave_defect")
    _check_first_registered(current, field="in_service_from")
    touched = {field: min(one for one in both if one is not None) for field, both in changes.items()}
    for field, earliest in touched.items():
        refuse_before_takeover(by, current, earliest, field=field)
    _refuse_former_keepers_end(current, touched.get("in_service_to"))
    _refuse_later_start_of_anothers(by, current, changes.get("in_service_from"))
    _save(by, current, changes)
    if "in_service_to" in changes:
        _record_last_reading(by, current, odometer)
    notify(by, current, changes, to=keepers_since(current), kind=ActKind.CAR)
    return current


def _refuse_later_start_of_anothers(by: Member, car: Car, both: tuple[date, date] | None) -> None:
    """Nobody but its keeper can say that a car came into service after days on which its odometer was read.

    All that it cost before would count on its new first day: with that, a month's figure of the group would tell years.
    """
    if both is None or by == car.keeper:
        return
    before, after = both
    read_on = [reading.read_on for reading in raw_readings_of([car.pk])[car.pk] if before < reading.read_on < after]
    if read_on:
        words = f"It was in use before: its odometer was read on {day(read_on[0])}. Only its keeper can say this."
        raise ValidationError({"in_service_from": words})


def _has_open(car: Car, *severities: Severity) -> bool:
    return Defect.objects.filter(car=car, severity__in=severities).exclude(state=DefectState.CLOSED).exists()


def _record_last_reading(by: Member, car: Car, odometer: int | None) -> None:
    """Record what the car showed on its last day in service, if that day has come."""
    last = car.in_service_to
    if last is None or last > timezone.localdate():
        return
    if odometer is None:
        raise ValidationError({"odometer": f"Give what it showed on {day(last)}, its last day in use."})
    record_reading(by=by, car=car, read_on=last, miles=odometer, field="odometer")


def _refuse_former_keepers_end(car: Car, earliest: date | None) -> None:
    since = took_over_on(car)
    if earliest is not None and since is not None and earliest < since:
        handed = f"{car.keeper.name} took {show(car.registration)} over on {day(since)}"
        raise ValidationError({"in_service_to": f"{handed}: its service before that day cannot be changed."})


def _require_keeper_or_coordinator(by: Member, car: Car) -> None:
    if car.keeper_id != by.pk and not by.is_coordinator:
        raise PermissionError("a car is put right by its keeper or a coordinator")


def _set(car: Car, values: Mapping[str, Any]) -> dict[str, tuple[Any, Any]]:
    """Put those of ``values`` that differ into the locked row; returns by field what it was and is now."""
    changes = put(car, values)
    car.clean_fields()
    return changes


def _save(by: Member, car: Car, changes: Mapping[str, Any]) -> None:
    if changes:
        save_as(by, car, *changes)


def _check_first_registered(car: Car, *, field: str) -> None:
    if car.first_registered and car.in_service_from < car.first_registered:
        if field == "first_registered":
            words = f"It was in use from {day(car.in_service_from)}: it cannot have been first registered after that."
        else:
            words = f"It was first registered on {day(car.first_registered)}: it cannot have been in use before."
        raise ValidationError({field: words})


def _mark(typed: str) -> str:
    try:
        return read(typed)
    except ValueError as wrong:
        raise ValidationError({"registration": f"This {wrong}."}) from None


def _same_or_refused(there: Car, car: Car) -> Car:
    names = [field.attname for field in Car._meta.concrete_fields if not field.primary_key]
    if all(getattr(there, name) == getattr(car, name) for name in names):
        return there
    words = f"{show(car.registration)} is in the book already. A coordinator can hand it over or correct its details."
    raise ValidationError({"registration": words}, code="mark_taken")
