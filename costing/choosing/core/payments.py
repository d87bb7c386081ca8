"""What is paid for the car itself within the horizon, and the item of a cash flow that every such sum becomes."""

import math
from collections.abc import Callable, Iterator, Mapping
from fractions import Fraction
from typing import NamedTuple

from costing.choosing.core.case import Offer, Scenario
from costing.core.catalogue.agreements import DEPOSIT, FEES, FINAL_PAYMENT, PAYMENTS, PRICE, PaidBy
from costing.core.money import divide_half_up


class CashFlowItem(NamedTuple):
    """One sum of an offer: ``amount`` pence falls due in each of ``months``, and is below zero if it comes back.

    Without months it is a single sum, spread evenly over every month after the start. ``part`` says what it pays for.
    """

    part: str
    amount: Fraction | int
    months: tuple[int, ...] | None = None

    @property
    def times(self) -> int:
        return 1 if self.months is None else len(self.months)

    @property
    def pence(self) -> int:
        """The whole of it in pence, rounded half up once."""
        whole = self.amount * self.times
        return whole if isinstance(whole, int) else divide_half_up(whole, 1)


def payment_count(offer: Offer, scenario: Scenario) -> int:
    """How many payments fall within the horizon. A hire with a shorter term is renewed, so its payments go on."""
    inside = scenario.whole_weeks if offer.frequency == "week" else scenario.months
    return inside if offer.is_hire else min(offer.payments, inside)


def ends_inside(offer: Offer, scenario: Scenario) -> bool:
    """Whether a credit agreement makes its last payment within the horizon, or just as it ends."""
    return payment_count(offer, scenario) == offer.payments


def month_of_payment(offer: Offer, scenario: Scenario, number: int) -> int:
    """The month in which payment ``number`` falls; number 0 is the start."""
    return scenario.month_of_week(number) if offer.frequency == "week" else number


def _months_of_payments(offer: Offer, scenario: Scenario, count: int) -> tuple[int, ...]:
    return scenario.months_of_weeks(1, count) if offer.frequency == "week" else tuple(range(1, count + 1))


def payments_a_year(offer: Offer) -> int:
    return 52 if offer.frequency == "week" else 12


def payment_items(offer: Offer, scenario: Scenario) -> Iterator[CashFlowItem]:
    """What is paid for the car up to the horizon: price or deposits, payments, fees and the final payment."""
    yield from _PAYMENT_ITEMS[offer.way.paid_by](offer, scenario)


def _whole_price(offer: Offer, scenario: Scenario) -> Iterator[CashFlowItem]:
    yield CashFlowItem(PRICE.name, offer.price, (0,))


def _instalments(offer: Offer, scenario: Scenario) -> Iterator[CashFlowItem]:
    count = payment_count(offer, scenario)
    # A hire starts again when its term has been paid, with another deposit and another set of fees.
    terms = range(0, count, offer.payments) if offer.is_hire else range(1)
    yield CashFlowItem(DEPOSIT.name, offer.deposit, tuple(month_of_payment(offer, scenario, begun) for begun in terms))
    yield CashFlowItem(PAYMENTS.name, offer.payment, _months_of_payments(offer, scenario, count))
    yield from _paused(offer, scenario, count)
    yield CashFlowItem(FEES.name, offer.fees, tuple(month_of_payment(offer, scenario, begun + 1) for begun in terms))
    if offer.is_credit and ends_inside(offer, scenario) and offer.at_end != "hand_back":
        yield CashFlowItem(FINAL_PAYMENT.name, offer.final_payment, (month_of_payment(offer, scenario, count),))


_PAYMENT_ITEMS: Mapping[PaidBy, Callable[[Offer, Scenario], Iterator[CashFlowItem]]] = {
    PaidBy.PRICE: _whole_price,
    PaidBy.CREDIT: _instalments,
    PaidBy.HIRE: _instalments,
}


def _paused(offer: Offer, scenario: Scenario, count: int) -> Iterator[CashFlowItem]:
    """The payments that stop while no lessons are given: one for each week off."""
    if not (offer.pauses_when_off and scenario.off):
        return
    first, last = scenario.off.from_week, scenario.off.from_week + scenario.off.weeks - 1
    if offer.frequency == "week":
        yield CashFlowItem(PAYMENTS.name, -offer.payment, scenario.months_of_weeks(first, min(last, count)))
        return
    # A month is 52/12 weeks. The weeks off are taken from one monthly payment after another, starting early enough
    # for all of them to fit before the last payment.
    weeks = sum(month <= count for month in scenario.months_of_weeks(first, last))
    left = weeks / scenario.weeks_a_month
    begins = min(scenario.month_of_week(first), count + 1 - math.ceil(left))
    for month in range(begins, count + 1):
        part = min(left, Fraction(1))
        if part > 0:
            yield CashFlowItem(PAYMENTS.name, -offer.payment * part, (month,))
        left -= part
