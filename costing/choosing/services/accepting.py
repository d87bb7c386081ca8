"""Accepting an offer: it becomes a car with its agreement, what falls due on it, and what fitting it out cost."""

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
from costing.choosing.core.case import Offer as Terms
from costing.choosing.services.stored import told_of
from costing.core.catalogue.agreements import PaidBy
from costing.core.catalogue.costs import FIT_OUT
from costing.core.money import divide_half_up, to_places, to_pounds
from costing.models import Offer
from fleet.actions import add_car, add_due_item
from fleet.models import Car
from instructors.models import Member

_SUMS = ("price", "deposit", "payment", "final_payment", "fees")


@transaction.atomic
def accept_offer(
    *,
    by: Member,
    offer: Offer,
    terms: Terms,
    car: Car | Mapping[str, Any],
    starts_on: date,
    due: Mapping[str, date] | None = None,
    fit_out: Mapping[str, Decimal] | None = None,
) -> tuple[Car, bool]:
    """Make an offer the member's car, under its agreement from ``starts_on``.

    Returns the car, and whether the offer was accepted just now: accepting it again changes nothing.

    ``terms`` are those quoted. ``car`` is one that the member keeps, or the details of a new one. ``due`` has the day
    of each kind of due item that is known. ``fit_out`` has what each thing fitted cost, in pounds. Either all of it is
    saved or nothing. Raises ValidationError by field.
    """
    offer = lock(offer, "comparison", "car")
    if offer.comparison.member_id != by.pk:
        raise PermissionError("an offer is accepted by the member who compares it")
    if offer.car is not None:
        return offer.car, False
    if told_of(offer)[1]:
        raise ValidationError("Something is still missing from this offer: fill it in first.", code="incomplete")
    if not isinstance(car, Car):
        car = add_car(by=by, keeper=by, in_service_from=starts_on, **car)
    elif Offer.objects.filter(car=lock(car), comparison__member=by).exists():
        raise ValidationError({"car": "Another offer has already become this car."}, code="car_taken")
    record_agreement(by=by, car=car, starts_on=starts_on, **agreement_fields(terms))
    for kind, due_on in (due or {}).items():
        _enter_due(by, car, kind, due_on)
    _log_fit_out(by, car, offer, starts_on, fit_out or {})
    offer.car, offer.chosen_on = car, timezone.localdate()
    offer.save(update_fields=["car", "chosen_on"])
    return car, True


def agreement_fields(terms: Terms) -> dict[str, Any]:
    """The fields of the `Agreement` that an offer becomes, except its start. Sums of nothing are left empty."""
    if terms.way.paid_by is PaidBy.PRICE:
        return {"kind": terms.kind, "price": to_pounds(terms.price or 0)}
    sums = {name: to_pounds(getattr(terms, name) or 0) or None for name in _SUMS}
    return sums | {
        "kind": terms.kind,
        "payments": terms.payments,
        "frequency": terms.frequency,
        "quoted_apr": _two_places(terms.quoted_apr),
        "mileage_allowance": None if terms.mileage_allowance is None else divide_half_up(terms.mileage_allowance, 1),
        "excess_pence_per_mile": _two_places(terms.excess_pence_per_mile or None),
    }


def _two_places(number: Any) -> Decimal | None:
    return None if number is None else to_places(number, 2)


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
