"""A member's own comparison of offers, kept a step at a time; nobody else ever sees or changes it."""

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
    """An offer to be made with its comparison; ``terms`` as they are stored."""

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
    """Make a comparison, with complete ``offers`` if there are any; the tables as they are stored.

    One that is the same in every word is given back, so that a second tap makes no second one.
    """
    if len(offers) > OFFERS_ON_A_PAGE:
        raise ValidationError(f"At most {OFFERS_ON_A_PAGE} offers can be compared at once.", code="many")
    # The lock makes a second tap wait for the first, so that it finds what the first has made.
    lock(by)
    told: dict[str, Any] = {"name": name, "use": use, "running": running, "sources": sources}
    told |= {"what_ifs": list(what_ifs), "uncertain": list(uncertain)}
    for there in Comparison.objects.filter(member=by, name=name).prefetch_related("offers"):
        same_offers = [NewOffer(o.kind, o.name, o.terms) for o in there.offers.all()] == list(offers)
        if same_offers and all(getattr(there, field) == value for field, value in told.items()):
            return there
    comparison = Comparison.objects.create(member=by, **told)
    Offer.objects.bulk_create(
        Offer(comparison=comparison, position=position, is_complete=True, **offer._asdict())
        for position, offer in enumerate(offers)
    )
    return comparison


@transaction.atomic
def save_use(
    *, by: Member, comparison: Comparison, name: str, use: Mapping[str, Any], complete: Collection[int] = ()
) -> Comparison:
    """Keep how the car will be used; ``complete`` are the ids of the offers that can be compared over those months."""
    current = _locked_untaken(comparison, by)
    _change(current, name=name, use=dict(use))
    current.offers.filter(pk__in=complete).update(is_complete=True)
    current.offers.exclude(pk__in=complete).update(is_complete=False)
    return current


@transaction.atomic
def save_running(
    *, by: Member, comparison: Comparison, running: Mapping[str, Any], sources: Mapping[str, str]
) -> Comparison:
    """Keep what running a car costs, and where each figure came from."""
    current = _locked_untaken(comparison, by)
    _change(current, running=dict(running), sources=dict(sources))
    return current


@transaction.atomic
def save_uncertain(*, by: Member, comparison: Comparison, uncertain: Sequence[Mapping[str, Any]]) -> Comparison:
    """Keep how far figures may go, as rows of the document; none of them means the usual assumptions."""
    current = _locked(comparison, by)
    _change(current, uncertain=list(uncertain))
    return current


@transaction.atomic
def add_offer(*, by: Member, comparison: Comparison, kind: str, name: str, terms: Mapping[str, Any]) -> Offer:
    """Begin an offer; ``terms`` are those told so far, as they are stored.

    The same one begun again is given back; another of the same name is refused.
    """
    current = _locked(comparison, by)
    offers = list(current.offers.order_by("position"))
    if there := next((offer for offer in offers if offer.name == name), None):
        if there.kind == kind and there.terms == terms:
            return there
        raise ValidationError({"name": "Another offer here has this name."}, code="name_taken")
    if len(offers) >= OFFERS_ON_A_PAGE:
        raise ValidationError({"name": f"At most {OFFERS_ON_A_PAGE} offers can be compared at once."}, code="many")
    position = offers[-1].position + 1 if offers else 0
    offer = Offer.objects.create(comparison=current, position=position, kind=kind, name=name, terms=dict(terms))
    _change(current)
    return offer


@transaction.atomic
def save_offer(*, by: Member, offer: Offer, name: str, terms: Mapping[str, Any], is_complete: bool) -> Offer:
    """Keep the terms of an offer as far as they are told; figures on its uncertainty follow a new name."""
    comparison, current = _locked_offer(offer, by)
    if comparison.offers.filter(name=name).exclude(pk=current.pk).exists():
        raise ValidationError({"name": "Another offer here has this name."}, code="name_taken")
    renamed = [row | {"offer": name} if row.get("offer") == current.name else row for row in comparison.uncertain]
    current.name, current.terms, current.is_complete = name, dict(terms), is_complete
    current.save(update_fields=["name", "terms", "is_complete"])
    _change(comparison, uncertain=renamed)
    return current


@transaction.atomic
def remove_offer(*, by: Member, offer: Offer) -> None:
    """Remove an offer, and what was said of its uncertainty."""
    comparison, current = _locked_offer(offer, by)
    uncertain = [row for row in comparison.uncertain if row.get("offer") != current.name]
    current.delete()
    _change(comparison, uncertain=uncertain)


@transaction.atomic
def remove_comparison(*, by: Member, comparison: Comparison) -> None:
    """Remove a comparison with its offers; one of which an offer was taken up is kept."""
    current = _locked(comparison, by)
    if _is_taken(current):
        raise ValidationError("An offer of it was taken up: the comparison is kept to look back on.", code="taken")
    current.delete()


def _locked(comparison: Comparison, by: Member) -> Comparison:
    """The comparison as it is now, safe from other writes until the transaction ends."""
    current = lock(comparison)
    if current.member_id != by.pk:
        raise PermissionError("a comparison is changed by whoever made it")
    return current


def _locked_untaken(comparison: Comparison, by: Member) -> Comparison:
    """The same of one whose every offer is still open; what a taken one was expected to cost must not move."""
    current = _locked(comparison, by)
    if _is_taken(current):
        raise ValidationError("An offer was taken up: what was expected of it is kept to look back on.", code="taken")
    return current


def _is_taken(comparison: Comparison) -> bool:
    return comparison.offers.filter(chosen_on__isnull=False).exists()


def _locked_offer(offer: Offer, by: Member) -> tuple[Comparison, Offer]:
    comparison = _locked(offer.comparison, by)
    current = Offer.objects.get(pk=offer.pk)
    if current.chosen_on is not None:
        raise ValidationError("This offer was taken up: its terms are kept as they were.", code="taken")
    return comparison, current


def _change(comparison: Comparison, **fields: Any) -> None:
    for name, value in fields.items():
        setattr(comparison, name, value)
    comparison.changed_at = timezone.now()
    comparison.save(update_fields=[*fields, "changed_at"])
