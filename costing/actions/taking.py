"""Making the offer that was chosen the car it is of."""

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from config.history import lock
from costing.actions.agreements import record_agreement
from costing.actions.entries import log_cost
from costing.core.catalogue.costs import FIT_OUT
from costing.models import Offer
from fleet.actions import add_car, add_due_item
from fleet.models import Car
from instructors.models import Member


@transaction.atomic
def take_offer(
    *,
    by: Member,
    offer: Offer,
    car: Car | Mapping[str, Any],
    starts_on: date,
    agreement: Mapping[str, Any],
    due: Mapping[str, date] | None = None,
    fit_out: Mapping[str, Decimal] | None = None,
) -> tuple[Car, bool]:
    """Make an offer of ``by`` a car of theirs, held by its agreement from ``starts_on``. Returns the car and
    whether the offer was taken now: one taken before gives back its car and changes nothing.

    ``car``: one they keep, or what is to be entered of a new one. ``agreement``: the fields of `Agreement`. ``due``:
    the day of each kind of due item that is known; what is not, the book goes on calling unknown. ``fit_out``: what
    each thing fitted cost, in pounds. All of it or nothing: ValidationError by field.
    """
    offer = lock(offer, "comparison", "car")
    if offer.comparison.member_id != by.pk:
        raise PermissionError("an offer is taken up by whoever compares it")
    if offer.car is not None:
        return offer.car, False
    if not offer.is_complete:
        raise ValidationError("Something is still missing of this offer: fill it in first.", code="incomplete")
    if not isinstance(car, Car):
        car = add_car(by=by, keeper=by, in_service_from=starts_on, **car)
    elif Offer.objects.filter(car=car).exists():
        raise ValidationError({"car": "Another offer has become this car."}, code="car_taken")
    record_agreement(by=by, car=car, starts_on=starts_on, **agreement)
    for kind, due_on in (due or {}).items():
        _enter_due(by, car, kind, due_on)
    _log_fit_out(by, car, offer, starts_on, fit_out or {})
    offer.car, offer.chosen_on = car, timezone.localdate()
    offer.save(update_fields=["car", "chosen_on"])
    return car, True


def _enter_due(by: Member, car: Car, kind: str, due_on: date) -> None:
    try:
        add_due_item(by=by, kind=kind, car=car, due_on=due_on)
    except ValidationError as refusal:
        raise ValidationError({kind: refusal.messages}) from refusal


def _log_fit_out(by: Member, car: Car, offer: Offer, starts_on: date, fit_out: Mapping[str, Decimal]) -> None:
    paid_on = min(starts_on, timezone.localdate())
    for number, (what, amount) in enumerate(fit_out.items()):
        ref = f"offer-{offer.pk}-fit-out-{number}"
        log_cost(by=by, car=car, ref=ref, paid_on=paid_on, category=FIT_OUT.name, amount=amount, note=what)
