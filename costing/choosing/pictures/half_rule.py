"""The half rule for ending hire purchase early, worked out from an offer's own figures.

Consumer Credit Act 1974 ss.99-100, as secondary texts give it: a regulated agreement may be ended in writing before its
last payment falls due, for half of the total price less what has been paid or fallen due. We count the deposit, the
final payment and the fees in the total price (s.189), without having read it. A business that borrows more than £25,000
has no such right: Financial Services and Markets Act 2000 (Regulated Activities) Order 2001, art. 60C (official).
"""

from typing import NamedTuple

from costing.choosing.core.case import Case, Offer
from costing.core.money import divide_half_up

#: Up to so much credit, in pence, a sole trader is protected like a consumer.
_MOST_PROTECTED = 25_000_00


class HalfRule(NamedTuple):
    """One offer on credit: what is lent, the total price and half of it, in pence."""

    name: str
    credit: int
    total_price: int

    @property
    def half(self) -> int:
        return divide_half_up(self.total_price, 2)

    @property
    def is_above_limit(self) -> bool:
        """Whether so much is lent that a business has no such right by law."""
        return self.credit > _MOST_PROTECTED


def half_rules(case: Case) -> list[HalfRule]:
    """The offers to which the half rule may apply."""
    return [HalfRule(o.name, o.price - o.deposit, _total_price(o)) for o in case.offers if o.is_credit]


def _total_price(offer: Offer) -> int:
    return offer.deposit + offer.payment * offer.payments + offer.final_payment + offer.fees
