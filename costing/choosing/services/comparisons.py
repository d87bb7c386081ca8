"""A member's own comparisons: found, started, changed as a whole, and removed. Nobody else ever sees or changes one."""

from collections.abc import Mapping, Sequence

from django.core.exceptions import ValidationError
from django.db import transaction
from django.shortcuts import get_object_or_404

from config.budgets import COMPARISONS, OFFERS_ON_A_PAGE
from config.history import lock
from costing.choosing.document.keys import Values
from costing.choosing.document.tables import to_json
from costing.choosing.services.stored import NewOffer, change, columns_of, locked, offers_of
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


def letters_of(comparison: Comparison) -> dict[str, str]:
    """The letter of each offer, by its name."""
    return {offer.name: offer.letter for offer in offers_of(comparison)}


def fit_out_costs_of(member: Member, car: Car) -> list[CostEntry]:
    """What the member has paid to fit out a car, oldest first."""
    costs = CostEntry.objects.standing().filter(member=member, car=car, category=FIT_OUT.name)
    return list(costs.order_by("paid_on", "pk"))


@transaction.atomic
def start_comparison(
    *,
    by: Member,
    name: str,
    use: Values,
    running: Values,
    sources: Mapping[str, str],
    what_ifs: Sequence[Values] = (),
    uncertain: Sequence[Values] = (),
    offers: Sequence[NewOffer] = (),
) -> Comparison:
    """Make a comparison with any ``offers``; the tables are typed values of the document.

    If the member has the very same comparison already, that one is returned, so a second tap doesn't make two. Raises
    ValidationError if there are too many offers, or too many comparisons already.
    """
    if len(offers) > OFFERS_ON_A_PAGE:
        raise ValidationError(f"At most {OFFERS_ON_A_PAGE} offers can be compared at once.", code="many")
    # A second tap waits here for the first one, and then finds what it made.
    lock(by)
    fields = {
        "name": name,
        "use": to_json("use", use),
        "running": to_json("running", running),
        "sources": dict(sources),
        "what_ifs": [to_json("what_if", row) for row in what_ifs],
        "uncertain": [to_json("uncertain", row) for row in uncertain],
    }
    new = [offer.columns for offer in offers]
    for old in Comparison.objects.filter(member=by, name=name).prefetch_related("offers"):
        is_same = all(getattr(old, field) == value for field, value in fields.items())
        if is_same and [columns_of(offer) for offer in old.offers.all()] == new:
            return old
    if Comparison.objects.filter(member=by).count() >= COMPARISONS:
        raise ValidationError(
            f"You have {COMPARISONS} comparisons, and no more can be kept. Remove one first.", code="many"
        )
    comparison = Comparison.objects.create(member=by, **fields)
    Offer.objects.bulk_create(
        Offer(comparison=comparison, position=position, **columns) for position, columns in enumerate(new)
    )
    return comparison


@transaction.atomic
def save_use(*, by: Member, comparison: Comparison, name: str, use: Values) -> Comparison:
    """Save how the car will be used."""
    current = _locked_open(comparison, by)
    change(current, name=name, use=to_json("use", use))
    return current


@transaction.atomic
def save_running(*, by: Member, comparison: Comparison, running: Values, sources: Mapping[str, str]) -> Comparison:
    """Save what running a car costs, and where each figure came from."""
    current = _locked_open(comparison, by)
    change(current, running=to_json("running", running), sources=dict(sources))
    return current


@transaction.atomic
def save_uncertain(*, by: Member, comparison: Comparison, uncertain: Sequence[Values]) -> Comparison:
    """Save the member's ranges of what no key stands for, or of one offer alone."""
    current = locked(comparison, by)
    change(current, uncertain=[to_json("uncertain", row) for row in uncertain])
    return current


@transaction.atomic
def remove_comparison(*, by: Member, comparison: Comparison) -> None:
    """Remove a comparison with its offers. Raises ValidationError if one of them was accepted."""
    current = locked(comparison, by)
    if _has_accepted_offer(current):
        raise ValidationError(
            "You accepted one of its offers, so the comparison is kept to look back on.", code="accepted"
        )
    current.delete()


def _locked_open(comparison: Comparison, by: Member) -> Comparison:
    """The same, if no offer has been accepted: what an accepted one was expected to cost must not change."""
    current = locked(comparison, by)
    if _has_accepted_offer(current):
        raise ValidationError(
            "You accepted an offer, so what you expected of it is kept to look back on.", code="accepted"
        )
    return current


def _has_accepted_offer(comparison: Comparison) -> bool:
    return comparison.offers.filter(chosen_on__isnull=False).exists()
