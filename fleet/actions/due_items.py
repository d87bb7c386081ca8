"""Writing down due items: adding, correcting, booking and meeting them."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils import timezone

from config import showing
from fleet.actions.odometer import MOST_MILES, check_reading, lock_car, refuse_future
from fleet.actions.saving import save_as
from fleet.core.kinds import KINDS
from fleet.core.rolling import CannotRollOn, Interval, Met, next_due
from fleet.models import Car, Completion, DueItem, OdometerReading
from fleet.queries import due_day_of
from instructors.models import Member


@transaction.atomic
def add_due_item(
    *,
    by: Member,
    kind: str,
    car: Car | None = None,
    member: Member | None = None,
    due_on: date | None = None,
    due_miles: int | None = None,
    every_months: int | None = None,
    every_miles: int | None = None,
    note: str = "",
) -> DueItem:
    """Write down that something of a car or of a member falls due, and how often it comes back.

    Asked again for the same, it changes nothing. Raises ValidationError on the field that is wrong, on
    ``kind`` if one of that kind stands there already with another day or mileage.
    """
    terms = {
        "due_on": due_on,
        "due_miles": due_miles,
        "every_months": every_months,
        "every_miles": every_miles,
        "note": note,
    }
    _check_subject(kind, car, member)
    _check_terms(kind, terms)
    item = ensure_due_item(by=by, kind=kind, car=car, member=member, terms=terms)
    if item.due_on is None and item.due_miles is None:
        # Only a place was kept for it, for a booking or a reminder.
        return _change(by, item, terms)
    if any(getattr(item, field) != value for field, value in terms.items()):
        raise ValidationError({"kind": f"{KINDS[kind].words} is in the book already: correct that one."})
    return item


def ensure_due_item(
    *,
    by: Member | None,
    kind: str,
    car: Car | None = None,
    member: Member | None = None,
    terms: Mapping[str, Any] | None = None,
) -> DueItem:
    """The open due item of that kind; made if there is none, with ``terms`` or, without, as a mere place.

    A place with neither day nor mileage changes nothing about how the item stands: a first MOT still goes by
    first registration, and what is unknown stays so. It is there to hang a booking or a notice on.
    """
    found = DueItem.objects.filter(car=car, member=member, kind=kind, closed_on__isnull=True)
    if item := found.first():
        return item
    item = DueItem(car=car, member=member, kind=kind, **(terms or {}))
    item.clean_fields()
    try:
        with transaction.atomic():
            save_as(by, item)
    except IntegrityError:  # somebody else was quicker
        return found.get()
    return item


@transaction.atomic
def change_due_item(
    *,
    by: Member,
    item: DueItem,
    due_on: date | None,
    due_miles: int | None = None,
    every_months: int | None = None,
    every_miles: int | None = None,
    note: str = "",
) -> DueItem:
    """Correct what is recorded of an open item. Raises ValidationError on the field that is wrong."""
    terms = {
        "due_on": due_on,
        "due_miles": due_miles,
        "every_months": every_months,
        "every_miles": every_miles,
        "note": note,
    }
    _check_terms(item.kind, terms)
    return _change(by, _locked_open(item), terms)


@transaction.atomic
def book_due_item(*, by: Member, item: DueItem, booked_for: date | None) -> DueItem:
    """Write down the day for which it is booked, which quiets its reminders until then; None takes that back.

    Raises ValidationError on ``booked_for`` if the day is past.
    """
    if booked_for is not None and booked_for < timezone.localdate():
        raise ValidationError({"booked_for": f"{showing.day(booked_for)} is past: record it as done instead."})
    return _change(by, _locked_open(item), {"booked_for": booked_for})


@transaction.atomic
def complete_due_item(
    *,
    by: Member,
    item: DueItem,
    done_on: date,
    odometer: int | None = None,
    next_due_on: date | None = None,
    note: str = "",
) -> Completion:
    """Write down that an item was met, and move it on to when it falls due again, or close it.

    An MOT moves on by the rule of its certificate and what has an interval by that, unless ``next_due_on`` is
    given; cover and credentials need it. ``odometer`` is kept as a reading of the car too, if it has none of
    that day. The same again on the same day changes nothing. Raises ValidationError on the field that is
    wrong.
    """
    refuse_future("done_on", done_on)
    item = _locked(item)
    latest = item.completions.order_by("-done_on").first()
    if latest is not None and latest.done_on >= done_on:
        if latest.done_on == done_on and next_due_on in (None, item.due_on) and latest.odometer == odometer:
            return latest
        raise ValidationError({"done_on": f"It is recorded as done on {showing.day(latest.done_on)} already."})
    _refuse_closed(item)
    if odometer is not None and item.car is not None:
        _note_odometer(by, item.car, done_on, odometer)
    was_due_on = due_day_of(item, done_on)
    interval = Interval(item.every_months, item.every_miles)
    try:
        following = next_due(item.kind, was_due_on, interval, Met(done_on, odometer, next_due_on))
    except CannotRollOn as refusal:
        raise ValidationError(refusal.faults) from refusal
    completion = Completion(
        due_item=item,
        was_due_on=was_due_on,
        was_due_miles=item.due_miles,
        done_on=done_on,
        odometer=odometer,
        note=note,
        recorded_by=by,
    )
    completion.clean_fields()
    save_as(by, completion)
    if following.is_end:
        _change(by, item, {"closed_on": done_on, "booked_for": None})
    else:
        moved = {"due_on": following.due_on, "due_miles": following.due_miles, "booked_for": None}
        _change(by, item, moved)
    return completion


def _check_subject(kind: str, car: Car | None, member: Member | None) -> None:
    of, subject = KINDS[kind].of, "car" if car else "member"
    if (car is None) == (member is None):
        raise ValueError("a due item is of a car or of a member")
    if of not in (subject, "either"):
        raise ValidationError({"kind": f"{KINDS[kind].words} is not something a {subject} has."})


def _check_terms(kind: str, terms: Mapping[str, Any]) -> None:
    rules = KINDS[kind]
    goes_by_miles = rules.of != "member" and not rules.is_cover and kind != "mot"
    faults = {}
    if terms["due_on"] is None and (terms["due_miles"] is None or not goes_by_miles):
        faults["due_on"] = "Give the day it is due" + (", or the mileage." if goes_by_miles else ".")
    for field in ("due_miles", "every_miles"):
        if terms[field] is not None and not goes_by_miles:
            faults[field] = f"{rules.words} does not fall due by miles."
        elif terms[field] is not None and terms[field] > MOST_MILES:
            faults[field] = f"No odometer shows more than {showing.whole(MOST_MILES)} miles."
    if faults:
        raise ValidationError(faults)


def _locked(item: DueItem) -> DueItem:
    """The row as it is now, kept from changing until this transaction ends."""
    if item.car is not None:
        lock_car(item.car)
    return DueItem.objects.select_for_update(of=("self",)).select_related("car", "member").get(pk=item.pk)


def _locked_open(item: DueItem) -> DueItem:
    item = _locked(item)
    _refuse_closed(item)
    return item


def _refuse_closed(item: DueItem) -> None:
    if item.closed_on is not None:
        raise ValidationError(f"It was done for good on {showing.day(item.closed_on)}.", code="closed")


def _change(by: Member, item: DueItem, values: Mapping[str, Any]) -> DueItem:
    changed = [field for field, value in values.items() if getattr(item, field) != value]
    if changed:
        for field in changed:
            setattr(item, field, values[field])
        item.clean_fields()
        save_as(by, item, *changed)
    return item


def _note_odometer(by: Member, car: Car, day: date, miles: int) -> None:
    check_reading(car, day, miles, field="odometer")
    if not OdometerReading.objects.filter(car=car, read_on=day).exists():
        save_as(by, OdometerReading(car=car, read_on=day, miles=miles))
