"""The pot's plan and typed bills: entered, changed and voided by their member, nobody else."""

from collections.abc import Mapping
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from config import budgets
from config.history import lock, put, save_as
from costing.models import PotBill, PotPlan
from instructors.models import Member


@transaction.atomic
def save_plan(*, by: Member, **fields: Any) -> PotPlan:
    """Save what is in ``by``'s pot and what they plan; ``fields`` are those of `PotPlan`. The history keeps it."""
    # A second tap waits here for the first one, and then finds what it made.
    lock(by)
    plan = PotPlan.objects.filter(member=by).first()
    if plan is None:
        plan = PotPlan(member=by, **fields)
        save_as(by, plan, reason="Entered")
    elif changed := put(plan, fields):
        save_as(by, plan, *changed, reason="Changed")
    return plan


@transaction.atomic
def record_pot_bill(*, by: Member, ref: str, **fields: Any) -> tuple[PotBill, bool]:
    """Record a bill or quote of ``by``'s own; ``fields`` are those of `PotBill`.

    Returns it and whether it is new: a ``ref`` recorded before returns that one. Raises ValidationError on somebody
    else's, and beyond the bound on how many count.
    """
    lock(by)
    if first := PotBill.objects.filter(ref=ref).first():
        if first.member_id != by.pk:
            raise ValidationError("This page is out of date: reload it and enter that again.", code="ref_of_another")
        return first, False
    if PotBill.objects.filter(member=by, voided_at__isnull=True).count() >= budgets.POT_BILLS:
        words = f"You have {budgets.POT_BILLS} bills and quotes, which is the most: void one of them first."
        raise ValidationError(words, code="many")
    bill = PotBill(member=by, ref=ref, **fields)
    save_as(by, bill, reason="Entered")
    return bill, True


@transaction.atomic
def correct_pot_bill(*, by: Member, bill: PotBill, changes: Mapping[str, Any]) -> PotBill:
    """Change one of ``by``'s own bills; its history keeps what it was. Raises ValidationError on a voided one."""
    current = _locked(bill, by)
    if current.voided_at is not None:
        raise ValidationError("This bill was voided: enter it again if it was right.", code="voided")
    if changed := put(current, changes):
        save_as(by, current, *changed, reason="Corrected")
    return current


@transaction.atomic
def void_pot_bill(*, by: Member, bill: PotBill, reason: str) -> PotBill:
    """Void one of ``by``'s own bills, so that it no longer counts. Voiding it again changes nothing."""
    current = _locked(bill, by)
    if current.voided_at is None:
        current.voided_at = timezone.now()
        save_as(by, current, "voided_at", reason=f"Voided: {reason}")
    return current


def _locked(bill: PotBill, by: Member) -> PotBill:
    current = lock(bill)
    if current.member_id != by.pk:
        raise ValidationError("Only whoever entered it can change it.", code="not_own")
    return current
