"""A member's own plan of what to charge, saved."""

from collections.abc import Mapping
from typing import Any

from django.db import transaction

from config.history import lock, put, save_as
from costing.models import ChargePlan
from instructors.models import Member


@transaction.atomic
def save_plan(*, by: Member, values: Mapping[str, Any]) -> ChargePlan:
    """Save what ``by`` charges, teaches and wants, with its history; nothing is written if nothing differs."""
    # A second tap waits here for the first one: a member has one plan.
    lock(by)
    plan = ChargePlan.objects.filter(member=by).first()
    if plan is None:
        plan = ChargePlan(member=by, **values)
        save_as(by, plan, reason="Saved")
    elif changed := put(plan, values):
        save_as(by, plan, *changed, reason="Changed")
    return plan
