"""What became of an offer that was taken up."""

from costing.models import CostCategory, CostEntry
from fleet.models import Car
from instructors.models import Member


def fit_out_costs_of(member: Member, car: Car) -> list[CostEntry]:
    """What the member paid to have a car fitted out, oldest first."""
    costs = CostEntry.objects.standing().filter(member=member, car=car, category=CostCategory.FIT_OUT)
    return list(costs.order_by("paid_on", "pk"))
