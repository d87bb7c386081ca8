"""The payments of an offer inside the horizon: what is paid at the start, and when each payment falls."""

import math
from collections.abc import Callable, Iterator, Mapping
from fractions import Fraction

from costing.core.catalogue.agreements import DEPOSIT, FEES, FINAL_PAYMENT, PAYMENTS, PRICE, PaidBy
from costing.core.offers.lines import Line
from costing.core.offers.terms import Offer, Scene


def payment_count(offer: Offer, scene: Scene) -> int:
    """How many payments fall inside the horizon; a hire shorter than it is renewed, so its payments go on."""
    inside = scene.whole_weeks if offer.frequency == "week" else scene.months
    return inside if offer.is_hire else min(offer.payments, inside)


def ends_inside(offer: Offer, scene: Scene) -> bool:
    """Whether the last payment of a credit agreement falls inside the horizon, or at its end."""
    return payment_count(offer, scene) == offer.payments


def month_of_payment(offer: Offer, scene: Scene, number: int) -> int:
    """The month in which the ``number``-th payment falls; number 0 is the start."""
    return scene.month_of_week(number) if offer.frequency == "week" else number


def _months_of_payments(offer: Offer, scene: Scene, count: int) -> tuple[int, ...]:
    return scene.months_of_weeks(1, count) if offer.frequency == "week" else tuple(range(1, count + 1))


def payments_a_year(offer: Offer) -> int:
    return 52 if offer.frequency == "week" else 12


def payment_lines(offer: Offer, scene: Scene) -> Iterator[Line]:
    """What is paid for the car itself until the horizon: price or deposits, payments, fees, the final payment."""
    yield from _PAYMENT_LINES[offer.way.paid_by](offer, scene)


def _whole_price(offer: Offer, scene: Scene) -> Iterator[Line]:
    yield Line(PRICE.name, offer.price, (0,))


def _instalments(offer: Offer, scene: Scene) -> Iterator[Line]:
    count = payment_count(offer, scene)
    # A renewed hire begins anew, with its deposit and its fees, when the term before has been paid.
    terms = range(0, count, offer.payments) if offer.is_hire else range(1)
    yield Line(DEPOSIT.name, offer.deposit, tuple(month_of_payment(offer, scene, begun) for begun in terms))
    yield Line(PAYMENTS.name, offer.payment, _months_of_payments(offer, scene, count))
    yield from _paused(offer, scene, count)
    yield Line(FEES.name, offer.fees, tuple(month_of_payment(offer, scene, begun + 1) for begun in terms))
    if offer.is_credit and ends_inside(offer, scene) and offer.at_end != "hand_back":
        yield Line(FINAL_PAYMENT.name, offer.final_payment, (month_of_payment(offer, scene, count),))


_PAYMENT_LINES: Mapping[PaidBy, Callable[[Offer, Scene], Iterator[Line]]] = {
    PaidBy.PRICE: _whole_price,
    PaidBy.CREDIT: _instalments,
    PaidBy.HIRE: _instalments,
}


def _paused(offer: Offer, scene: Scene, count: int) -> Iterator[Line]:
    """Payments that fall away while no lesson is given: as many weeks of them as were off."""
    if not (offer.pauses_when_off and scene.off):
        return
    first, last = scene.off.from_week, scene.off.from_week + scene.off.weeks - 1
    if offer.frequency == "week":
        yield Line(PAYMENTS.name, -offer.payment, scene.months_of_weeks(first, min(last, count)))
        return
    # A month is 52/12 weeks: what falls away is taken from one monthly payment after the other, the earliest early
    # enough for all of it to fall before the last payment.
    weeks = sum(month <= count for month in scene.months_of_weeks(first, last))
    left = weeks / scene.weeks_a_month
    begins = min(scene.month_of_week(first), count + 1 - math.ceil(left))
    for month in range(begins, count + 1):
        part = min(left, Fraction(1))
        if part > 0:
            yield Line(PAYMENTS.name, -offer.payment * part, (month,))
        left -= part
