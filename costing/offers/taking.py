"""What an offer says, in the words of the records it becomes when it is taken up."""

from decimal import Decimal
from typing import Any

from costing.core.catalogue.agreements import PaidBy
from costing.core.money import divide_half_up, to_places, to_pounds
from costing.core.offers import terms
from costing.models import Offer
from costing.offers.reading import read_table
from costing.offers.stored import offer_told

_SUMS = ("price", "deposit", "payment", "final_payment", "fees")


def terms_of(offer: Offer) -> terms.Offer:
    """The terms as quoted. Raises Unreadable where they are not complete."""
    return terms.Offer(**read_table("offer", offer_told(offer), ("offer", 0)))


def agreement_of(offer: terms.Offer) -> dict[str, Any]:
    """The fields of `Agreement` that the terms make, but its start; what is nothing is left empty."""
    if offer.way.paid_by is PaidBy.PRICE:
        return {"kind": offer.kind, "price": to_pounds(offer.price)}
    sums = {name: to_pounds(getattr(offer, name)) or None for name in _SUMS}
    return sums | {
        "kind": offer.kind,
        "payments": offer.payments,
        "frequency": offer.frequency,
        "quoted_apr": _two_places(offer.quoted_apr),
        "mileage_allowance": None if offer.mileage_allowance is None else divide_half_up(offer.mileage_allowance, 1),
        "excess_pence_per_mile": _two_places(offer.excess_pence_per_mile or None),
    }


def _two_places(number: Any) -> Decimal | None:
    return None if number is None else to_places(number, 2)
