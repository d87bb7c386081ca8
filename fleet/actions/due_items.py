"""Due items: adding, correcting and booking them."""

from collections.abc import Mapping
from datetime import date
from typing import Any, Literal

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils import timezone

from config import showing
from config.history import lock, put, save_as
from fleet.actions.acts import due_words, note_item
from fleet.actions.confirmations import NOTHING_ASKED, Answers, answer_about_policy
from fleet.actions.odometer import MOST_MILES, lock_car
from fleet.core.due_kinds import DUE_KINDS, DueKind
from fleet.models import Car, DueItem
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
    answers: Answers = NOTHING_ASKED,
) -> DueItem:
    """Add something that falls due for a car or a member, and how often it comes back.

    The same again changes nothing. Raises ValidationError on the field that is wrong, on ``kind`` if one of that kind
    is already there with another day or mileage.
    """
    terms = {
        "due_on": due_on,
        "due_miles": due_miles,
        "every_months": every_months,
        "every_miles": every_miles,
        "note": note,
    }
    _check_subject(kind, car, member)
    _check_terms(DUE_KINDS[kind], terms, of_car=car is not None)
    item = ensure_due_item(by=by, kind=kind, car=car, member=member, terms=terms)
    if item.due_on is None and item.due_miles is None:
        # The row was only a placeholder for a booking or a reminder.
        move_item(by, item, terms, event="due_item_added")
    elif any(getattr(item, field) != value for field, value in terms.items()):
        raise ValidationError({"kind": f"{DUE_KINDS[kind].words} is in the book already: correct that one."})
    answer_about_policy(by=by, car=car, answers=answers)
    return item


def ensure_due_item(
    *,
    by: Member | None,
    kind: str,
    car: Car | None = None,
    member: Member | None = None,
    terms: Mapping[str, Any] | None = None,
    reason: str = "",
) -> DueItem:
    """The open due item of that kind; created if there is none, with ``terms`` or as a placeholder without.

    A placeholder has neither day nor mileage and leaves the item's state unchanged: a first MOT still follows from
    first registration, and what is unknown stays unknown. A booking or a notice needs it.
    """
    found = DueItem.objects.filter(car=car, member=member, kind=kind, closed_on__isnull=True)
    if item := found.first():
        return item
    item = DueItem(car=car, member=member, kind=kind, **(terms or {}))
    item.clean_fields()
    try:
        with transaction.atomic():
            save_as(by, item, reason=reason)
    except IntegrityError:  # somebody else was quicker
        return found.get()
    if terms:
        note_item(by, item, "due_item_added", due_words(item))
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
    answers: Answers = NOTHING_ASKED,
) -> DueItem:
    """Correct what is recorded of an open item. Raises ValidationError on the field that is wrong."""
    terms = {
        "due_on": due_on,
        "due_miles": due_miles,
        "every_months": every_months,
        "every_miles": every_miles,
        "note": note,
    }
    _check_terms(item.due_kind, terms, of_car=item.car is not None)
    item = move_item(by, _locked_open(item), terms, event="due_item_changed")
    answer_about_policy(by=by, car=item.car, answers=answers)
    return item


@transaction.atomic
def book_due_item(*, by: Member, item: DueItem, booked_for: date | None) -> DueItem:
    """Record the day for which it is booked, which quiets the reminders before it falls due; None removes the booking.

    Raises ValidationError on ``booked_for`` if the day is past.
    """
    if booked_for is not None and booked_for < timezone.localdate():
        raise ValidationError({"booked_for": f"{showing.day(booked_for)} is past: record it as done instead."})
    event = "due_item_booked" if booked_for else "due_item_unbooked"
    return move_item(by, _locked_open(item), {"booked_for": booked_for}, event=event)


def _check_subject(kind: str, car: Car | None, member: Member | None) -> None:
    if (car is None) == (member is None):
        raise ValueError("a due item is of a car or of a member")
    subject: Literal["car", "member"] = "car" if car else "member"
    if not DUE_KINDS[kind].belongs_to(subject):
        raise ValidationError({"kind": f"{DUE_KINDS[kind].words} is not something a {subject} has."})


def _check_terms(kind: DueKind, terms: Mapping[str, Any], *, of_car: bool) -> None:
    goes_by_miles = kind.goes_by_miles(of_car=of_car)
    faults = {}
    if terms["due_on"] is None and (terms["due_miles"] is None or not goes_by_miles):
        faults["due_on"] = "Give the day it is due" + (", or the mileage." if goes_by_miles else ".")
    for field in ("due_miles", "every_miles"):
        if terms[field] is not None and not goes_by_miles:
            faults[field] = f"{kind.words} does not fall due by miles."
        elif terms[field] is not None and terms[field] > MOST_MILES:
            faults[field] = f"No odometer shows more than {showing.whole(MOST_MILES)} miles."
    if faults:
        raise ValidationError(faults)


def locked_item(item: DueItem) -> DueItem:
    """The row as it is now, kept from changing until this transaction ends."""
    if item.car is not None:
        lock_car(item.car)
    return lock(item, "car__keeper", "member")


def _locked_open(item: DueItem) -> DueItem:
    item = locked_item(item)
    refuse_closed(item)
    return item


def refuse_closed(item: DueItem) -> None:
    """Raise ValidationError for an item that is done and does not come back."""
    if item.closed_on is not None:
        raise ValidationError(f"It was done on {showing.day(item.closed_on)} and does not come back.", code="closed")


def move_item(by: Member, item: DueItem, values: Mapping[str, Any], *, event: str = "") -> DueItem:
    """Save those of ``values`` that differ in the locked row; with ``event``, note it in the record."""
    if changed := put(item, values):
        item.clean_fields()
        save_as(by, item, *changed)
        if event:
            booked_for = values.get("booked_for")
            note_item(by, item, event, f"for {showing.day(booked_for)}" if booked_for else due_words(item))
    return item
