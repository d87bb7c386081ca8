"""What a member plans to charge. Theirs alone."""

from costing.core.money import to_pence
from costing.models import ChargePlan
from instructors.models import Member


def charge_plan_of(member: Member) -> ChargePlan | None:
    """Return what a member plans; None if they never saved a plan."""
    return ChargePlan.objects.filter(member=member).first()


def lesson_hour_price(member: Member) -> int | None:
    """Return what the member said they charge for a lesson hour, in pence; None if they did not say."""
    plan = charge_plan_of(member)
    return to_pence(plan.lesson_hour_price) if plan and plan.lesson_hour_price is not None else None
