"""Completing due items: when each was done, what it cost the keeper, and when it falls due again."""

from datetime import date
from decimal import Decimal
from typing import NamedTuple

from django.core.exceptions import ValidationError
from django.db import transaction

from config import showing
from config.history import save_as
from fleet.actions.acts import note_item
from fleet.actions.confirmations import NOTHING_ASKED, Answers, answer_about_policy
from fleet.actions.due_items import locked_item, move_item, refuse_closed
from fleet.actions.odometer import check_reading, record_reading, refuse_future
from fleet.actions.photos import keep_photo
from fleet.core.recurrence import CannotRollOn, Interval, Met, NextDue, next_due, renewed_from
from fleet.costs import WorkCost, cost_book
from fleet.models import Car, Completion, DueItem, OdometerReading
from fleet.queries import due_day_of
from instructors.models import Member


class Bill(NamedTuple):
    """What meeting an item cost its car's keeper, in pounds, and for tyres how many miles it is to last.

    Without an amount it is already in the cost book, under ``ref``.
    """

    ref: str
    amount: Decimal | None = None
    covers_miles: int | None = None


@transaction.atomic
def complete_due_item(
    *,
    by: Member,
    item: DueItem,
    done_on: date,
    odometer: int | None = None,
    next_due_on: date | None = None,
    note: str = "",
    bill: Bill | None = None,
    picture: bytes | None = None,
    answers: Answers = NOTHING_ASKED,
) -> Completion:
    """Record that an item was met, and move it on to when it falls due again, or close it.

    An MOT moves on by the rule of its certificate and what has an interval by that, unless ``next_due_on`` is
    given; cover and credentials need it. ``odometer`` is kept as a reading of the car too, if it has none of
    that day. ``bill`` is logged as a cost paid that day, ``picture`` is a JPEG of its paper. The same again on
    the same day changes nothing. Raises ValidationError on the field that is wrong.
    """
    refuse_future("done_on", done_on)
    item, met = locked_item(item), Met(done_on, odometer, next_due_on)
    if recorded := _recorded_before(item, met):
        return _with_bill(by, recorded, item, bill)
    refuse_closed(item)
    if odometer is not None and item.car is not None:
        note_odometer(by, item.car, done_on, odometer)
    was_due_on = due_day_of(item, done_on)
    following = _following(item, was_due_on, met)
    completion = Completion(
        due_item=item,
        was_due_on=was_due_on,
        was_due_miles=item.due_miles,
        next_due_on=None if following.is_end else following.due_on,
        next_due_miles=None if following.is_end else following.due_miles,
        done_on=done_on,
        odometer=odometer,
        note=note,
        recorded_by=by,
    )
    completion.clean_fields()
    save_as(by, completion)
    note_item(by, item, "due_item_completed", f"done on {showing.day(done_on)}")
    moved = {"closed_on": done_on} if following.is_end else following._asdict()
    move_item(by, item, {**moved, "booked_for": None})
    _with_bill(by, completion, item, bill)
    answer_about_policy(by=by, car=item.car, answers=answers)
    # Last: a file does not go away again if the rest is refused.
    if item.car is not None and (photo := keep_photo(by=by, car=item.car, picture=picture)):
        completion.photo = photo
        save_as(by, completion, "photo")
    return completion


def _recorded_before(item: DueItem, met: Met) -> Completion | None:
    """A completion that already says the same; ValidationError on ``done_on`` if that day or a later one differs."""
    latest = item.completions.filter(voided_at__isnull=True).order_by("-done_on").first()
    if latest is None or latest.done_on < met.done_on:
        return None
    if (latest.done_on, latest.odometer) == (met.done_on, met.odometer) and met.next_due_on in (None, item.due_on):
        return latest
    raise ValidationError({"done_on": f"It is recorded as done on {showing.day(latest.done_on)} already."})


def note_odometer(by: Member, car: Car, day: date, miles: int) -> None:
    """Record what the odometer showed, unless that day has a reading; ValidationError on ``odometer`` if it fell."""
    check_reading(by, car, day, miles, field="odometer")
    if not OdometerReading.objects.filter(car=car, read_on=day).exists():
        record_reading(by=by, car=car, read_on=day, miles=miles, field="odometer")


def log_bill(
    by: Member, item: DueItem, bill: Bill, paid_on: date, cover: tuple[date | None, date | None] = (None, None)
) -> None:
    """Log a bill in the cost book of the car's keeper, unless it is there already."""
    if bill.amount is None or item.car is None:
        return
    category = item.due_kind.cost_category
    cost = WorkCost(category, paid_on, bill.amount, *cover, covers_miles=bill.covers_miles)
    cost_book().log(by=by, car=item.car, ref=bill.ref, cost=cost)


def _following(item: DueItem, was_due_on: date | None, met: Met) -> NextDue:
    try:
        return next_due(item.kind, was_due_on, Interval(item.every_months, item.every_miles), met)
    except CannotRollOn as refusal:
        raise ValidationError(refusal.faults) from refusal


def _with_bill(by: Member, completion: Completion, item: DueItem, bill: Bill | None) -> Completion:
    """Log the bill of a completion and link it, once. Call it when the item has moved on.

    The cost of new cover then finds its due item moved already, and moves it no second time.
    """
    if bill is None or completion.cost_ref == bill.ref:
        return completion
    if completion.cost_ref:
        raise ValidationError({"amount": "Its cost is already logged: correct it among your entries."})
    log_bill(by, item, bill, completion.done_on, _cover(completion, item))
    completion.cost_ref = bill.ref
    save_as(by, completion, "cost_ref")
    return completion


def _cover(completion: Completion, item: DueItem) -> tuple[date | None, date | None]:
    """The days that renewed cover runs: from the end of the old cover, unless there was a gap."""
    if not item.due_kind.is_cover or item.due_on is None:
        return None, None
    first = renewed_from(completion.done_on, completion.was_due_on)
    return first if first <= item.due_on else completion.done_on, item.due_on
