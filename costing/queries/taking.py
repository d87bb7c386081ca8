"""What became of an offer that was taken up."""

from costing.core.catalogue.costs import FIT_OUT
from costing.models import CostEntry
from fleet.models import Car
from instructors.models import Member


def fit_out_costs_of(member: Member, car: Car) -> list[CostEntry]:
    """What the member paid to have a car fitted out, oldest first."""
    costs = CostEntry.objects.standing().filter(member=member, car=car, category=FIT_OUT.name)
    return list(costs.order_by("paid_on", "pk"))
