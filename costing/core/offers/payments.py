"""The payments of an offer inside the horizon: what is paid at the start, and when each payment falls."""

import math
from collections.abc import Iterator
from fractions import Fraction

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
    if offer.kind == "owned":
        yield Line("price", offer.price, (0,))
        return
    count = payment_count(offer, scene)
    # A renewed hire begins anew, with its deposit and its fees, when the term before has been paid.
    terms = range(0, count, offer.payments) if offer.is_hire else range(1)
    yield Line("deposit", offer.deposit, tuple(month_of_payment(offer, scene, begun) for begun in terms))
    yield Line("payments", offer.payment, _months_of_payments(offer, scene, count))
    yield from _paused(offer, scene, count)
    yield Line("fees", offer.fees, tuple(month_of_payment(offer, scene, begun + 1) for begun in terms))
    if offer.is_credit and ends_inside(offer, scene) and offer.at_end != "hand_back":
        yield Line("final_payment", offer.final_payment, (month_of_payment(offer, scene, count),))


def _paused(offer: Offer, scene: Scene, count: int) -> Iterator[Line]:
    """Payments that fall away while no lesson is given: as many weeks of them as were off."""
    if not (offer.pauses_when_off and scene.off):
        return
    first, last = scene.off.from_week, scene.off.from_week + scene.off.weeks - 1
    if offer.frequency == "week":
        yield Line("payments", -offer.payment, scene.months_of_weeks(first, min(last, count)))
        return
    # A month is 52/12 weeks: what falls away is taken from one monthly payment after the other, the earliest early
    # enough for all of it to fall before the last payment.
    weeks = sum(month <= count for month in scene.months_of_weeks(first, last))
    left = weeks / scene.weeks_a_month
    begins = min(scene.month_of_week(first), count + 1 - math.ceil(left))
    for month in range(begins, count + 1):
        part = min(left, Fraction(1))
        if part > 0:
            yield Line("payments", -offer.payment * part, (month,))
        left -= part
