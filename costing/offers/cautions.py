"""What the law says of ending hire purchase early, as far as an offer's own figures bear on it.

Consumer Credit Act 1974 ss.99-100 (read in secondary texts): a regulated agreement may be ended in writing before its
last payment falls due; half the total price is then to be paid, less what is paid or due. That the total price
counts the deposit, the final payment and the fees (s.189) is from memory. No such right by law where more than
£25,000 is lent wholly or predominantly for a business: Financial Services and Markets Act 2000 (Regulated Activities)
Order 2001, art. 60C (official).
"""

from typing import NamedTuple

from costing.core.money import divide_half_up
from costing.core.offers.terms import Case, Offer

#: Pence of credit up to which a sole trader is protected as a consumer is.
_MOST_PROTECTED = 25_000_00


class HalfRule(NamedTuple):
    """One offer on credit, in pence: what is lent, the total price, and half of it."""

    name: str
    credit: int
    total_price: int

    @property
    def half(self) -> int:
        return divide_half_up(self.total_price, 2)

    @property
    def is_above_limit(self) -> bool:
        """Whether the law gives no such right to a business."""
        return self.credit > _MOST_PROTECTED


def half_rules(case: Case) -> list[HalfRule]:
    """The offers to which the half rule may apply, in their order."""
    return [HalfRule(o.name, o.price - o.deposit, _total_price(o)) for o in case.offers if o.is_credit]


def _total_price(offer: Offer) -> int:
    return offer.deposit + offer.payment * offer.payments + offer.final_payment + offer.fees
