"""A member's own comparisons of offers."""

from django.shortcuts import get_object_or_404

from costing.models import Comparison, Offer
from instructors.models import Member


def comparisons_of(member: Member) -> list[Comparison]:
    """The member's comparisons with their offers, the last changed first."""
    return list(Comparison.objects.filter(member=member).prefetch_related("offers").order_by("-changed_at", "-pk"))


def comparison_for(member: Member, pk: int) -> Comparison:
    """One of the member's own comparisons. Raises Http404 for any other."""
    return get_object_or_404(Comparison, member=member, pk=pk)


def offer_for(member: Member, pk: int) -> Offer:
    """One offer of the member's own comparisons. Raises Http404 for any other."""
    return get_object_or_404(Offer.objects.select_related("comparison"), comparison__member=member, pk=pk)


def offers_of(comparison: Comparison) -> list[Offer]:
    """All its offers, in their order."""
    return list(comparison.offers.order_by("position"))


def complete_offers_of(comparison: Comparison) -> list[Offer]:
    """Those of its offers that can be compared, in their order."""
    return [offer for offer in offers_of(comparison) if offer.is_complete]
