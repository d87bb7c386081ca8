"""Agreements and valuations: the car's keeper records them, and only whoever recorded one corrects it."""

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any, TypeVar

from django.core.exceptions import ValidationError
from django.db import transaction

from config import showing
from config.history import put, save_as
from costing.actions.entries import require_keeper, require_own
from costing.models import Agreement, Valuation
from fleet.actions import lock_car
from fleet.core.registration import show
from fleet.models import Car
from fleet.queries import refused_day
from instructors.models import Member

Held = TypeVar("Held", Agreement, Valuation)

#: The column that holds the day; a car has only one row of each kind for one day.
_DAY = {Agreement: "starts_on", Valuation: "valued_on"}


def record_agreement(*, by: Member, car: Car, starts_on: date, kind: str, **terms: Any) -> Agreement:
    """Record how ``car`` is held from ``starts_on``; ``terms`` are the other fields of `Agreement`.

    Recording the same agreement again returns the first one. A different one on the same day is a ValidationError.
    """
    return _record(Agreement(starts_on=starts_on, kind=kind, **terms), by=by, car=car)


def record_valuation(*, by: Member, car: Car, valued_on: date, value: Decimal) -> Valuation:
    """Record what ``car`` was worth, in pounds, at the end of one day.

    Recording the same value again returns the first one. A different one on the same day is a ValidationError.
    """
    return _record(Valuation(valued_on=valued_on, value=value), by=by, car=car)


def correct_agreement(*, by: Member, agreement: Agreement, changes: Mapping[str, Any]) -> Agreement:
    """Change one of ``by``'s own agreements; its history keeps what it was."""
    return _correct(agreement, by=by, changes=changes)


def correct_valuation(*, by: Member, valuation: Valuation, changes: Mapping[str, Any]) -> Valuation:
    """Change one of ``by``'s own valuations; its history keeps what it was."""
    return _correct(valuation, by=by, changes=changes)


@transaction.atomic
def _record(row: Held, *, by: Member, car: Car) -> Held:
    # While the car is locked, nobody else can record the same day.
    row.car, row.member = lock_car(car), by
    require_keeper(row.car, by)
    _refuse_anothers_time(row, by)
    if there := _of_same_day(row):
        if there.member_id == by.pk and _same_terms(there, row):
            return there
        _refuse_day(there, by)
    save_as(by, row, reason="Recorded")
    return row


@transaction.atomic
def _correct(row: Held, *, by: Member, changes: Mapping[str, Any]) -> Held:
    lock_car(row.car)
    current = type(row)._default_manager.select_related("car").get(pk=row.pk)
    require_own(current, by)
    if changed := put(current, changes):
        if _DAY[type(row)] in changed:
            _refuse_anothers_time(current, by)
        if there := _of_same_day(current):
            _refuse_day(there, by)
        save_as(by, current, *changed, reason="Corrected")
    return current


def _refuse_anothers_time(row: Agreement | Valuation, by: Member) -> None:
    """Refuse a day on which somebody else kept the car, without telling what they recorded for it."""
    name = _DAY[type(row)]
    if since := refused_day(row.car, by, getattr(row, name)):
        taken = f"You took {show(row.car.registration)} over on {showing.day(since)}"
        raise ValidationError({name: f"{taken}: your records of it begin the day after."})


def _of_same_day(row: Held) -> Held | None:
    day = _DAY[type(row)]
    same = type(row)._default_manager.filter(car=row.car, **{day: getattr(row, day)})
    return same.exclude(pk=row.pk).first()


def _same_terms(one: Held, other: Held) -> bool:
    names = [field.attname for field in one._meta.concrete_fields if not field.primary_key]
    return all(getattr(one, name) == getattr(other, name) for name in names)


def _refuse_day(there: Agreement | Valuation, by: Member) -> None:
    """Refuse a second row for one day."""
    day = _DAY[type(there)]
    what = "An agreement already starts" if isinstance(there, Agreement) else "A value is already recorded"
    joined = "on" if isinstance(there, Agreement) else "for"
    who = "correct that one instead" if there.member_id == by.pk else "somebody else recorded it"
    raise ValidationError({day: f"{what} {joined} {showing.day(getattr(there, day))}: {who}."}, code="day_taken")
