"""What repeats: entered, changed and stopped by its member; its entries are made by the nightly task."""

import logging
from datetime import date
from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from config import budgets
from config.history import lock, put, save_as
from costing.actions.entries import require_keeper, require_own
from costing.actions.in_place import meet, new_sum
from costing.core.periods import ONE_DAY
from costing.core.repeats import dues_between, next_dues
from costing.models import Agreement, Repeat
from costing.queries.repeats import (
    is_in,
    own_days,
    proposal_of,
    repeating_of,
    repeats_to_look_at,
    running_of,
    running_repeat_of,
)
from fleet.actions import lock_car
from fleet.core.days import add_months
from fleet.models import Car
from instructors.models import Member

logger = logging.getLogger(__name__)


@transaction.atomic
def record_repeat(
    *, by: Member, car: Car, ref: str, today: date, only_from_now: bool = False, **fields: Any
) -> tuple[Repeat, bool]:
    """Record what ``by`` pays for ``car`` again and again; ``fields`` are those of `Repeat`.

    Returns it and whether it is new: a ``ref`` recorded before returns that one. With ``only_from_now`` no entry will
    be made for payments that fell due before ``today``. Raises ValidationError beyond the bounds on how many run and on
    how far back the first day lies.
    """
    car = lock_car(car)
    if first := Repeat.objects.filter(ref=ref).first():
        if first.member_id != by.pk:
            raise ValidationError("This page is out of date: reload it and enter that again.", code="ref_of_another")
        return first, False
    require_keeper(car, by)
    repeat = Repeat(car=car, member=by, ref=ref, **fields)
    _refuse_too_much(repeat, today, only_from_now=only_from_now)
    if only_from_now and (past := dues_between(repeating_of(repeat), None, today - ONE_DAY)):
        repeat.made_until = past[-1].on
    save_as(by, repeat, reason="Entered")
    return repeat, True


@transaction.atomic
def repeat_agreement(
    *, by: Member, agreement: Agreement, ref: str, today: date, only_from_now: bool = False
) -> tuple[Repeat, bool]:
    """Record the instalments of one of ``by``'s own agreements as what repeats, as `record_repeat` does.

    If they repeat already, that one is returned. Raises ValidationError if the agreement has no instalments.
    """
    car = lock_car(agreement.car)
    require_own(agreement, by)
    if running := running_repeat_of(agreement):
        return running, False
    proposal = proposal_of(agreement)
    if proposal is None:
        raise ValidationError("This agreement has no payments that repeat.", code="no_instalments")
    names = ("category", "amount", "interval", "starts_on", "in_arrears", "payments", "fees", "final_payment")
    fields = {name: getattr(proposal, name) for name in names} | {"agreement": agreement}
    return record_repeat(by=by, car=car, ref=ref, today=today, only_from_now=only_from_now, **fields)


@transaction.atomic
def change_repeat(*, by: Member, repeat: Repeat, amount: Decimal, from_on: date) -> Repeat:
    """Change the sum, in pounds, of one of ``by``'s own repeats from its due day ``from_on`` on.

    Entries that were made stay as they are. Raises ValidationError if ``from_on`` is not one of its days to come.
    """
    current = _locked(repeat, by)
    following = next_dues(repeating_of(current), current.made_until, 1)
    if not following or from_on < following[0].on or not _falls_due(current, from_on):
        raise ValidationError({"from_on": "Choose one of the days on which it falls due next."}, code="not_due")
    changes: dict[str, Any] = {"next_amount": amount, "next_amount_from": from_on}
    # A day to come that is settled may be given back, and then has its own sum.
    is_settled_ahead = current.made_until is not None and current.made_until > timezone.localdate()
    if from_on > following[0].on:
        changes = {**new_sum(current, following[0]), **changes}
    elif not is_settled_ahead:
        changes = {"amount": amount, "next_amount": None, "next_amount_from": None}
    if changed := put(current, changes):
        save_as(by, current, *changed, reason="Sum changed")
    return current


@transaction.atomic
def stop_repeat(*, by: Member, repeat: Repeat, stopped_on: date) -> Repeat:
    """Stop one of ``by``'s own repeats: no entry is made for a day after ``stopped_on``. Those made stay."""
    current = _locked(repeat, by)
    if changed := put(current, {"stopped_on": stopped_on}):
        save_as(by, current, *changed, reason="Stopped")
    return current


def make_all_due(on: date) -> int:
    """Make the entries of all that fell due by ``on`` and was not made yet; returns how many are new.

    It may run any number of times, in any number of processes at once: each entry is made once, and what is too much
    for one run by the next. One repeat that cannot be made does not keep the others waiting.
    """
    made = 0
    for pk in repeats_to_look_at(on):
        if made >= budgets.REPEATS_MADE_AT_ONCE:
            break
        try:
            made += make_due(pk, on, budgets.REPEATS_MADE_AT_ONCE - made)
        except Exception:
            logger.exception("What falls due of repeat %s could not be made", pk)
    return made


def make_due(repeat_id: int, on: date, most: int = budgets.REPEATS_MADE_AT_ONCE) -> int:
    """Make what of one repeat fell due by ``on``, each day in a transaction of its own; returns how many are new.

    Only days on which its member kept the car, in service, count. At ``most`` new ones it stops.
    """
    made = 0
    while made < most and (is_new := _make_next(repeat_id, on)) is not None:
        made += is_new
    return made


@transaction.atomic
def _make_next(repeat_id: int, on: date) -> bool | None:
    """Make the next entry that is due, and say whether it is new; None if nothing is due."""
    car = lock_car(Repeat.objects.select_related("car").get(pk=repeat_id).car)
    repeat = lock(Repeat(pk=repeat_id), "member")
    repeat.car = car
    until = min(on, repeat.stopped_on) if repeat.stopped_on else on
    times = own_days(repeat.member, car)
    pending = dues_between(repeating_of(repeat), repeat.made_until, until)
    due = next((due for due in pending if is_in(times, due.on)), None)
    if due is None:
        return None
    return meet(repeat, due)


def _refuse_too_much(repeat: Repeat, today: date, *, only_from_now: bool) -> None:
    years = budgets.REPEAT_YEARS_BACK
    if repeat.starts_on < add_months(today, -12 * years) and not only_from_now:
        words = f"That is more than {years} years ago: give a later day, or begin with the next."
        raise ValidationError({"starts_on": words}, code="long_ago")
    if len(running_of(repeat.member, today)) >= budgets.REPEATS_RUNNING:
        words = f"You have {budgets.REPEATS_RUNNING} costs that repeat, which is the most: stop one of them first."
        raise ValidationError(words, code="many")


def _falls_due(repeat: Repeat, on: date) -> bool:
    return bool(dues_between(repeating_of(repeat), on - ONE_DAY, on))


def _locked(repeat: Repeat, by: Member) -> Repeat:
    lock_car(repeat.car)
    current = lock(repeat)
    require_own(current, by)
    return current
