"""A member's own comparison of offers, saved step by step. Nobody else ever sees or changes it."""

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from config.budgets import OFFERS_ON_A_PAGE
from config.history import lock
from costing.choosing.document.keys import Values
from costing.choosing.document.tables import to_json
from costing.models import Comparison, Offer
from fleet.models import Car
from instructors.models import Member


class NewOffer(NamedTuple):
    """What is told of an offer: ``terms`` are typed values of the document, without its name and kind.

    ``burns`` is the fuel of its car, ``sources`` says where figures of its own running costs came from, and ``kept`` is
    the member's car if the offer is to go on with that.
    """

    kind: str
    name: str
    terms: Values
    burns: str = ""
    sources: Mapping[str, str] = {}
    kept: Car | None = None

    @property
    def columns(self) -> dict[str, Any]:
        """The columns that keep it."""
        return {**self._asdict(), "terms": to_json("offer", self.terms), "sources": dict(self.sources)}


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
    ValidationError if there are too many offers.
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
        if is_same and [_columns_of(offer) for offer in old.offers.all()] == new:
            return old
    comparison = Comparison.objects.create(member=by, **fields)
    Offer.objects.bulk_create(
        Offer(comparison=comparison, position=position, **columns) for position, columns in enumerate(new)
    )
    return comparison


def _columns_of(offer: Offer) -> dict[str, Any]:
    return {name: getattr(offer, name) for name in NewOffer._fields}


@transaction.atomic
def save_use(*, by: Member, comparison: Comparison, name: str, use: Values) -> Comparison:
    """Save how the car will be used."""
    current = _locked_open(comparison, by)
    _change(current, name=name, use=to_json("use", use))
    return current


@transaction.atomic
def save_running(*, by: Member, comparison: Comparison, running: Values, sources: Mapping[str, str]) -> Comparison:
    """Save what running a car costs, and where each figure came from."""
    current = _locked_open(comparison, by)
    _change(current, running=to_json("running", running), sources=dict(sources))
    return current


@transaction.atomic
def save_uncertain(*, by: Member, comparison: Comparison, uncertain: Sequence[Values]) -> Comparison:
    """Save the member's ranges of what no key stands for, or of one offer alone."""
    current = _locked(comparison, by)
    _change(current, uncertain=[to_json("uncertain", row) for row in uncertain])
    return current


@transaction.atomic
def save_what_ifs(*, by: Member, comparison: Comparison, what_ifs: Sequence[Values]) -> Comparison:
    """Save what could happen."""
    current = _locked(comparison, by)
    _change(current, what_ifs=[to_json("what_if", row) for row in what_ifs])
    return current


@transaction.atomic
def add_offer(*, by: Member, comparison: Comparison, new: NewOffer) -> Offer:
    """Add an offer as far as it is told.

    The same offer added again is returned. Raises ValidationError for another one of the same name, or one too many.
    """
    current = _locked(comparison, by)
    offers, columns = list(current.offers.order_by("position")), new.columns
    if old := next((offer for offer in offers if offer.name == new.name), None):
        if _columns_of(old) == columns:
            return old
        raise ValidationError({"name": "You have another offer of this name here."}, code="name_taken")
    if len(offers) >= OFFERS_ON_A_PAGE:
        raise ValidationError({"name": f"At most {OFFERS_ON_A_PAGE} offers can be compared at once."}, code="many")
    offer = Offer.objects.create(comparison=current, position=_next_position(offers), **columns)
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
def save_offer(*, by: Member, offer: Offer, new: NewOffer) -> Offer:
    """Save an offer as far as it is told; its ranges follow it to a new name."""
    comparison, current = _locked_offer(offer, by)
    if comparison.offers.filter(name=new.name).exclude(pk=current.pk).exists():
        raise ValidationError({"name": "You have another offer of this name here."}, code="name_taken")
    renamed = [row | {"offer": new.name} if row.get("offer") == current.name else row for row in comparison.uncertain]
    columns = new.columns
    for name, value in columns.items():
        setattr(current, name, value)
    current.save(update_fields=[*columns])
    _change(comparison, uncertain=renamed)
    return current


@transaction.atomic
def save_look_over(*, by: Member, offer: Offer, look_over: Mapping[str, Any]) -> Offer:
    """Save what was found when the car of an offer was looked over."""
    comparison, current = _locked_offer(offer, by)
    current.look_over = dict(look_over)
    current.save(update_fields=["look_over"])
    _change(comparison)
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
