"""A member's own comparisons and offers, and what became of an accepted one."""

from django.shortcuts import get_object_or_404

from costing.core.catalogue.costs import FIT_OUT
from costing.models import Comparison, CostEntry, Offer
from fleet.models import Car
from instructors.models import Member


def comparisons_of(member: Member) -> list[Comparison]:
    """The member's comparisons with their offers, latest change first."""
    return list(Comparison.objects.filter(member=member).prefetch_related("offers").order_by("-changed_at", "-pk"))


def comparison_for(member: Member, pk: int) -> Comparison:
    """One of the member's own comparisons. Raises Http404 for any other."""
    return get_object_or_404(Comparison, member=member, pk=pk)


def offer_for(member: Member, pk: int) -> Offer:
    """One offer of the member's own comparisons. Raises Http404 for any other."""
    return get_object_or_404(Offer.objects.select_related("comparison"), comparison__member=member, pk=pk)


def offers_of(comparison: Comparison) -> list[Offer]:
    """All offers of a comparison, in order."""
    return list(comparison.offers.all())


def letters_of(comparison: Comparison) -> dict[str, str]:
    """The letter of each offer, by its name."""
    return {offer.name: offer.letter for offer in offers_of(comparison)}


def fit_out_costs_of(member: Member, car: Car) -> list[CostEntry]:
    """What the member has paid to fit out a car, oldest first."""
    costs = CostEntry.objects.standing().filter(member=member, car=car, category=FIT_OUT.name)
    return list(costs.order_by("paid_on", "pk"))
