"""A member's own comparison of offers, saved step by step. Nobody else ever sees or changes it."""

from collections.abc import Collection, Mapping, Sequence
from typing import Any, NamedTuple

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from config.budgets import OFFERS_ON_A_PAGE
from config.history import lock
from costing.models import Comparison, Offer
from instructors.models import Member


class NewOffer(NamedTuple):
    """An offer that is made together with its comparison; ``terms`` are in their stored form."""

    kind: str
    name: str
    terms: Mapping[str, Any]


@transaction.atomic
def start_comparison(
    *,
    by: Member,
    name: str,
    use: Mapping[str, Any],
    running: Mapping[str, Any],
    sources: Mapping[str, str],
    what_ifs: Sequence[Mapping[str, Any]] = (),
    uncertain: Sequence[Mapping[str, Any]] = (),
    offers: Sequence[NewOffer] = (),
) -> Comparison:
    """Make a comparison with any complete ``offers``; the tables are in their stored form.

    If the member has the very same comparison already, that one is returned, so a second tap doesn't make two. Raises
    ValidationError if there are too many offers.
    """
    if len(offers) > OFFERS_ON_A_PAGE:
        raise ValidationError(f"At most {OFFERS_ON_A_PAGE} offers can be compared at once.", code="many")
    # A second tap waits here for the first one, and then finds what it made.
    lock(by)
    fields: dict[str, Any] = {"name": name, "use": use, "running": running, "sources": sources}
    fields |= {"what_ifs": list(what_ifs), "uncertain": list(uncertain)}
    for old in Comparison.objects.filter(member=by, name=name).prefetch_related("offers"):
        same_offers = [NewOffer(o.kind, o.name, o.terms) for o in old.offers.all()] == list(offers)
        if same_offers and all(getattr(old, field) == value for field, value in fields.items()):
            return old
    comparison = Comparison.objects.create(member=by, **fields)
    Offer.objects.bulk_create(
        Offer(comparison=comparison, position=position, is_complete=True, **offer._asdict())
        for position, offer in enumerate(offers)
    )
    return comparison


@transaction.atomic
def save_use(
    *, by: Member, comparison: Comparison, name: str, use: Mapping[str, Any], complete: Collection[int] = ()
) -> Comparison:
    """Save how the car will be used; ``complete`` has the ids of the offers that can be compared over those months."""
    current = _locked_open(comparison, by)
    _change(current, name=name, use=dict(use))
    current.offers.filter(pk__in=complete).update(is_complete=True)
    current.offers.exclude(pk__in=complete).update(is_complete=False)
    return current


@transaction.atomic
def save_running(
    *, by: Member, comparison: Comparison, running: Mapping[str, Any], sources: Mapping[str, str]
) -> Comparison:
    """Save what running a car costs, and where each figure came from."""
    current = _locked_open(comparison, by)
    _change(current, running=dict(running), sources=dict(sources))
    return current


@transaction.atomic
def save_uncertain(*, by: Member, comparison: Comparison, uncertain: Sequence[Mapping[str, Any]]) -> Comparison:
    """Save the member's ranges, as rows of the document; without any, the usual ranges are used."""
    current = _locked(comparison, by)
    _change(current, uncertain=list(uncertain))
    return current


@transaction.atomic
def add_offer(*, by: Member, comparison: Comparison, kind: str, name: str, terms: Mapping[str, Any]) -> Offer:
    """Begin an offer with the ``terms`` known so far, in their stored form.

    The same offer begun again is returned. Raises ValidationError for another one of the same name, or one too many.
    """
    current = _locked(comparison, by)
    offers = list(current.offers.order_by("position"))
    if old := next((offer for offer in offers if offer.name == name), None):
        if old.kind == kind and old.terms == terms:
            return old
        raise ValidationError({"name": "You have another offer of this name here."}, code="name_taken")
    if len(offers) >= OFFERS_ON_A_PAGE:
        raise ValidationError({"name": f"At most {OFFERS_ON_A_PAGE} offers can be compared at once."}, code="many")
    offer = Offer.objects.create(
        comparison=current, position=_next_position(offers), kind=kind, name=name, terms=dict(terms)
    )
    _change(current)
    return offer


def _next_position(offers: Sequence[Offer]) -> int:
    """The position after the last; once there is none, the first that a removed offer has left.

    So an offer keeps its letter when others go.
    """
    after = offers[-1].position + 1 if offers else 0
    taken = {offer.position for offer in offers}
    return after if after < OFFERS_ON_A_PAGE else min(set(range(OFFERS_ON_A_PAGE)) - taken)


@transaction.atomic
def save_offer(*, by: Member, offer: Offer, name: str, terms: Mapping[str, Any], is_complete: bool) -> Offer:
    """Save the terms of an offer as far as they are known; its ranges follow it to a new name."""
    comparison, current = _locked_offer(offer, by)
    if comparison.offers.filter(name=name).exclude(pk=current.pk).exists():
        raise ValidationError({"name": "You have another offer of this name here."}, code="name_taken")
    renamed = [row | {"offer": name} if row.get("offer") == current.name else row for row in comparison.uncertain]
    current.name, current.terms, current.is_complete = name, dict(terms), is_complete
    current.save(update_fields=["name", "terms", "is_complete"])
    _change(comparison, uncertain=renamed)
    return current


@transaction.atomic
def remove_offer(*, by: Member, offer: Offer) -> None:
    """Remove an offer and its ranges."""
    comparison, current = _locked_offer(offer, by)
    uncertain = [row for row in comparison.uncertain if row.get("offer") != current.name]
    current.delete()
    _change(comparison, uncertain=uncertain)


@transaction.atomic
def remove_comparison(*, by: Member, comparison: Comparison) -> None:
    """Remove a comparison with its offers. Raises ValidationError if one of them was accepted."""
    current = _locked(comparison, by)
    if _has_accepted_offer(current):
        raise ValidationError(
            "You accepted one of its offers, so the comparison is kept to look back on.", code="accepted"
        )
    current.delete()


def _locked(comparison: Comparison, by: Member) -> Comparison:
    """The comparison as it is now, locked until the transaction ends."""
    current = lock(comparison)
    if current.member_id != by.pk:
        raise PermissionError("a comparison is changed by whoever made it")
    return current


def _locked_open(comparison: Comparison, by: Member) -> Comparison:
    """The same, if no offer has been accepted: what an accepted one was expected to cost must not change."""
    current = _locked(comparison, by)
    if _has_accepted_offer(current):
        raise ValidationError(
            "You accepted an offer, so what you expected of it is kept to look back on.", code="accepted"
        )
    return current


def _has_accepted_offer(comparison: Comparison) -> bool:
    return comparison.offers.filter(chosen_on__isnull=False).exists()


def _locked_offer(offer: Offer, by: Member) -> tuple[Comparison, Offer]:
    comparison = _locked(offer.comparison, by)
    current = Offer.objects.get(pk=offer.pk)
    if current.chosen_on is not None:
        raise ValidationError("You accepted this offer, so its terms are kept as they were.", code="accepted")
    return comparison, current


def _change(comparison: Comparison, **fields: Any) -> None:
    for name, value in fields.items():
        setattr(comparison, name, value)
    comparison.changed_at = timezone.now()
    comparison.save(update_fields=[*fields, "changed_at"])
