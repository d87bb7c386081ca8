"""What a credit agreement still asks for inside its term: its settlement, or what the half rule leaves to pay."""

from fractions import Fraction
from functools import lru_cache
from typing import NamedTuple

from costing.choosing.core.case import Offer
from costing.choosing.core.course import Course, above_nothing
from costing.choosing.core.payments import CashFlowItem, payments_made
from costing.core.catalogue.agreements import HALF_RULE
from costing.core.finance import balances, flows_of, period_rate

#: Pence that may be lent for business with the rights of ss.99-100 of the Consumer Credit Act 1974. Regulated
#: Activities Order 2001, art.60C(3): the credit, not what is paid in all.
MOST_PROTECTED_CREDIT = 25_000_00


class Terms(NamedTuple):
    """What decides the rate of an agreement: what is lent, and what is paid back."""

    credit: int
    payment: int
    payments: int
    fees: int
    final_payment: int

    @property
    def flows(self) -> tuple[int, ...]:
        return flows_of(*self[1:])


def terms_of(offer: Offer) -> Terms:
    return Terms(offer.credit, offer.payment, offer.payments, offer.fees, offer.final_payment)


@lru_cache(maxsize=16_384)
def rate_of(terms: Terms) -> float | None:
    """The agreement's own rate for each payment period; None where nothing is lent, 0 where too little comes back."""
    rate = period_rate(terms.credit, terms.flows)
    return None if rate is None else max(0.0, rate)


@lru_cache(maxsize=1024)
def _owed(rate: float, terms: Terms) -> tuple[Fraction, ...]:
    """Pence owed at the start and after each payment."""
    return tuple(map(Fraction, balances(rate, terms.flows)))


def settlement(offer: Offer, made: int) -> Fraction:
    """Pence owed right after payment ``made``: the payments to come, at the agreement's own rate.

    If no rate fits, because nothing was lent or less comes back than was, it is simply what is still to pay.
    """
    terms = terms_of(offer)
    return _owed(rate_of(terms) or 0.0, terms)[made]


def why_no_half_rule(offer: Offer) -> str:
    """Why ss.99-100 of the Consumer Credit Act 1974 don't let one leave this credit; empty if they do."""
    if offer.half_rule is None and offer.credit > MOST_PROTECTED_CREDIT:
        return "the law does not give it where so much is lent for work"
    return "the agreement does not give it" if offer.half_rule is False else ""


def half_still_to_pay(offer: Offer, course: Course) -> CashFlowItem:
    """What the half rule leaves to pay: half of the total price, less all that was paid and fell due, never below 0.

    Consumer Credit Act 1974 s.100(1); the total price holds deposit, all payments, fees and final payment (s.189(1)).
    """
    whole = offer.deposit + offer.payment * offer.payments + offer.fees + offer.final_payment
    paid = offer.deposit + offer.fees + offer.payment * payments_made(offer, course)
    return CashFlowItem(HALF_RULE.name, above_nothing(whole - 2 * paid), (course.months,), over=2)
