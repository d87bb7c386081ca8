"""Offers as they are stored: rows saved step by step, and read again as the offers document that they stand for."""

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from config.budgets import OFFERS_ON_A_PAGE
from config.history import lock
from costing.choosing.core.case import Case
from costing.choosing.core.case import Offer as Terms
from costing.choosing.document.checks import DocumentFault, Unreadable, checked, faults_in_offer
from costing.choosing.document.keys import Values
from costing.choosing.document.schema import Tables
from costing.choosing.document.tables import (
    case_made_of,
    from_json,
    offer_made_of,
    rows_from_json,
    to_json,
    typed_tables,
)
from costing.models import Comparison, Offer
from fleet.models import Car
from instructors.models import Member
from instructors.queries import cooperative


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
def add_offer(*, by: Member, comparison: Comparison, new: NewOffer) -> Offer:
    """Add an offer as far as it is told.

    The same offer added again is returned. Raises ValidationError for another one of the same name, or one too many.
    """
    current = locked(comparison, by)
    offers, columns = list(current.offers.order_by("position")), new.columns
    if old := next((offer for offer in offers if offer.name == new.name), None):
        if columns_of(old) == columns:
            return old
        raise ValidationError({"name": "You have another offer of this name here."}, code="name_taken")
    if len(offers) >= OFFERS_ON_A_PAGE:
        raise ValidationError({"name": f"At most {OFFERS_ON_A_PAGE} offers can be compared at once."}, code="many")
    offer = Offer.objects.create(comparison=current, position=_next_position(offers), **columns)
    change(current)
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
    change(comparison, uncertain=renamed)
    return current


@transaction.atomic
def save_look_over(*, by: Member, offer: Offer, look_over: Mapping[str, Any]) -> Offer:
    """Save what was found when the car of an offer was looked over."""
    comparison, current = _locked_offer(offer, by)
    current.look_over = dict(look_over)
    current.save(update_fields=["look_over"])
    change(comparison)
    return current


@transaction.atomic
def remove_offer(*, by: Member, offer: Offer) -> None:
    """Remove an offer and its ranges."""
    comparison, current = _locked_offer(offer, by)
    uncertain = [row for row in comparison.uncertain if row.get("offer") != current.name]
    current.delete()
    change(comparison, uncertain=uncertain)


def columns_of(offer: Offer) -> dict[str, Any]:
    """The columns of an offer that a member fills."""
    return {name: getattr(offer, name) for name in NewOffer._fields}


def locked(comparison: Comparison, by: Member) -> Comparison:
    """The comparison as it is now, locked until the transaction ends."""
    current = lock(comparison)
    if current.member_id != by.pk:
        raise PermissionError("a comparison is changed by whoever made it")
    return current


def _locked_offer(offer: Offer, by: Member) -> tuple[Comparison, Offer]:
    comparison = locked(offer.comparison, by)
    current = Offer.objects.get(pk=offer.pk)
    if current.chosen_on is not None:
        raise ValidationError("You accepted this offer, so its terms are kept as they were.", code="accepted")
    return comparison, current


def change(comparison: Comparison, **fields: Any) -> None:
    """Save these fields of a comparison, and that it has changed."""
    for name, value in fields.items():
        setattr(comparison, name, value)
    comparison.changed_at = timezone.now()
    comparison.save(update_fields=[*fields, "changed_at"])


class Stored(NamedTuple):
    """A stored comparison as it was read: its typed tables, with the offers that can be compared.

    ``compared`` has these, in order; ``left_out`` what is wrong with each other offer, by its id and then by key; and
    ``faults`` what is wrong besides.
    """

    tables: Tables
    compared: list[Offer]
    left_out: dict[int, dict[str, str]]
    faults: list[DocumentFault]


def stored_of(comparison: Comparison) -> Stored:
    """Read a comparison as far as it is filled in.

    An offer with a fault is left out, and so are the ranges of its figures and what happens after the horizon.
    """
    rows = offers_of(comparison)
    faults: list[DocumentFault] = []
    read = typed_tables(_document_of(comparison, rows), faults)
    months = read["use"].get("months")
    sound: list[Values] = []
    left_out: dict[int, dict[str, str]] = {}
    for index, (row, offer) in enumerate(zip(rows, read["offer"], strict=True)):
        if wrong := faults_in_offer(offer, index, faults, months):
            left_out[row.pk] = wrong
        else:
            sound.append(offer)
    compared = [row for row in rows if row.pk not in left_out]
    names = {row.name for row in compared}
    tables = Tables(
        use=read["use"],
        running=read["running"],
        offer=sound,
        what_if=[change for change in read["what_if"] if change.get("leave_at_month", 0) <= (months or 0)],
        uncertain=[row for row in read["uncertain"] if "offer" not in row or row["offer"] in names],
    )
    return Stored(tables, compared, left_out, [fault for fault in faults if fault.place[0] != "offer"])


def case_of(comparison: Comparison) -> Case:
    """The case that a comparison makes. Raises Unreadable with every fault."""
    return case_in(stored_of(comparison))


def case_in(read: Stored) -> Case:
    """The case of a comparison that was read. Raises Unreadable with every fault."""
    return case_made_of(checked(read.tables, read.faults), cooperative().nation)


def use_of(comparison: Comparison) -> Values:
    """How the car will be used, as far as that can be read."""
    return typed_tables({"use": from_json("use", comparison.use)}, [])["use"]


def told_of(offer: Offer) -> tuple[Values, dict[str, str]]:
    """The typed values of an offer, as far as they can be read, and what is wrong with it, by key."""
    faults: list[DocumentFault] = []
    read = typed_tables(_document_of(offer.comparison, [offer]), faults)
    values = read["offer"][0]
    return values, faults_in_offer(values, 0, faults, read["use"].get("months"))


def offer_of(offer: Offer) -> Terms:
    """The terms of an offer as quoted. Raises Unreadable if something is missing or wrong."""
    values, faults = told_of(offer)
    if faults:
        raise Unreadable([DocumentFault(("offer", offer.position, key), words) for key, words in faults.items()])
    return offer_made_of(values)


def _document_of(comparison: Comparison, offers: Sequence[Offer]) -> Mapping[str, Any]:
    """The comparison with these of its offers as a document has it, still to be read."""
    return {
        "use": from_json("use", comparison.use),
        "running": from_json("running", comparison.running),
        "offer": [_offer_table(offer) for offer in offers],
        "what_if": rows_from_json("what_if", comparison.what_ifs),
        "uncertain": rows_from_json("uncertain", comparison.uncertain),
    }


def _offer_table(offer: Offer) -> dict[str, Any]:
    # Terms that are no table tell nothing.
    terms = from_json("offer", offer.terms) if isinstance(offer.terms, Mapping) else {}
    return {"name": offer.name, "kind": offer.kind, **terms}


def sources_of(row: Comparison | Offer) -> dict[str, str]:
    """Where each running cost of a comparison or of an offer came from, by key, as far as that can be read."""
    told: Any = row.sources
    return {key: words for key, words in told.items() if isinstance(words, str)} if isinstance(told, Mapping) else {}


def offers_of(comparison: Comparison) -> list[Offer]:
    """All offers of a comparison, in order."""
    return list(comparison.offers.all())
