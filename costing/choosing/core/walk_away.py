"""The walk-away price: the highest price at which a car that is bought still beats the best other offer.

Everything else stays as quoted. A cash price moves alone. With credit the deposit, the fees, the final payment and the
number of payments stay, what is lent moves with the price, and each payment becomes what repays it at the agreement's
own rate, half up to a penny. What the car is worth is as told; only a value now that isn't told follows the price.
"""

import math
from collections.abc import Callable
from fractions import Fraction
from typing import NamedTuple

from costing.choosing.core.case import Case, Offer
from costing.choosing.core.credit import rate_of, terms_of
from costing.choosing.core.figures import figures
from costing.choosing.core.inputs import offer_named
from costing.choosing.core.verdicts import PairVerdict, verdicts
from costing.core.money import divide_half_up

#: No car costs more. In pence.
_MOST = 10_000_000_00


class WalkAway(NamedTuple):
    """The highest ``price`` in pence at which the offer is settled as cheaper than every other.

    ``than`` is the offer that it no longer beats above that, and ``if_same`` the parts that must cost both the same.
    Without a price, ``reason`` says why, and ``of`` names what isn't told if that is why.
    """

    price: int | None
    reason: str = ""
    than: str = ""
    if_same: tuple[str, ...] = ()
    of: tuple[str, ...] = ()


class NoRate(ValueError):
    """The payments repay nothing that is lent, so nobody can say what they would be at another price."""


def walk_away(case: Case, name: str) -> WalkAway:
    """Solve the walk-away price of the offer of this name, to the penny."""
    offer = offer_named(case, name)
    if offer.is_hire:
        return WalkAway(None, "a hired car has no price")
    if len(case.offers) < 2:
        return WalkAway(None, "there is no other offer to beat")
    try:
        at_price, lowest = _prices(offer)
    except NoRate:
        return WalkAway(None, "the payments have no rate at which another price could be repaid")
    pairs = _pairs(case, offer, at_price)

    def beats(price: int) -> bool:
        return all(pair.cheaper == name for pair in pairs(price))

    if not beats(lowest):
        return _why_not(name, pairs(lowest))
    price = _highest(beats, lowest)
    if price is None:
        return WalkAway(None, "it beats every other offer at any price")
    lost = next(pair for pair in pairs(price + 1) if pair.cheaper != name)
    if_same = dict.fromkeys(part for pair in pairs(price) for part in pair.if_same)
    return WalkAway(price, than=_other(lost, name), if_same=tuple(if_same))


def _pairs(case: Case, offer: Offer, at_price: Callable[[int], Offer]) -> Callable[[int], list[PairVerdict]]:
    """A function that gives the verdicts on the offer and each other, at a price."""
    # Nothing here rests on the chances of leaving early, which the plan itself would work out at every price.
    staying = case.use.months
    others = {other.name: figures(case, other, months=staying) for other in case.offers if other.name != offer.name}

    def pairs(price: int) -> list[PairVerdict]:
        changed = at_price(price)
        offers = tuple(changed if one.name == offer.name else one for one in case.offers)
        at = case._replace(offers=offers)
        mine = figures(at, changed, months=staying)
        return [verdict for other in others.values() for verdict in verdicts(at, (mine, other))]

    return pairs


def _highest(beats: Callable[[int], bool], lowest: int) -> int | None:
    """The highest price at which it still beats the others; None if there is no end to it."""
    last, beyond = lowest, _MOST
    if beats(beyond):
        return None
    while beyond - last > 1:
        middle = (last + beyond) // 2
        if beats(middle):
            last = middle
        else:
            beyond = middle
    return last


def _why_not(name: str, pairs: list[PairVerdict]) -> WalkAway:
    for pair in pairs:
        if pair.is_settled:
            return WalkAway(None, "another offer is as cheap at any price", _other(pair, name), pair.if_same)
    of = dict.fromkeys(part for pair in pairs for part in pair.of)
    return WalkAway(None, "it hangs on what is not told", of=tuple(of))


def _other(pair: PairVerdict, name: str) -> str:
    return pair.b if pair.a == name else pair.a


def _prices(offer: Offer) -> tuple[Callable[[int], Offer], int]:
    """A function that makes the offer at another price, and the lowest price it makes sense at. Raises NoRate."""
    if not offer.is_credit:
        return lambda price: offer._replace(price=price), 0
    rate = rate_of(terms_of(offer))
    if rate is None:
        raise NoRate
    v = Fraction(1 / (1 + rate))
    each = sum(v**number for number in range(1, offer.payments + 1))
    rest = offer.fees * v + offer.final_payment * v**offer.payments

    def at_price(price: int) -> Offer:
        payment = divide_half_up((price - offer.deposit - rest) / each, 1)
        return offer._replace(price=price, payment=payment)

    return at_price, offer.deposit + math.ceil(rest)
