"""What a car is worth on the day one leaves: the value curve, on which it loses the same share every month."""

from decimal import Decimal, localcontext
from functools import lru_cache
from typing import Any

from costing.choosing.core.case import Offer
from costing.choosing.core.course import Course, above_nothing, or_nothing

#: Digits that leave no doubt about the penny.
_DIGITS = 50
#: A little more than a half, so that an exact half whose last digit got lost is still rounded up.
_HALF = Decimal("0.50000000000000000001")


def value_now(offer: Offer) -> Any:
    """What the car would fetch the day after it is bought: the price, if nobody has told."""
    return or_nothing(offer.price) if offer.value_now is None else offer.value_now


def value_at(offer: Offer, course: Course) -> int | None:
    """Whole pence that the car fetches when one leaves; None if nobody has told what it will fetch at the horizon."""
    if offer.value_at_horizon is None:
        return None
    return value_on_curve(value_now(offer), offer.value_at_horizon, course.months, course.use.months)


@lru_cache(maxsize=16_384)
def value_on_curve(now: int, at_horizon: int, month: int, horizon: int) -> int:
    """Whole pence at the end of ``month``, half up; the curve goes on past the horizon, never below nothing."""
    if month == horizon:
        return at_horizon
    if not now:
        return 0
    with localcontext(prec=_DIGITS):
        return int(max(curve(Decimal(now), Decimal(at_horizon), Decimal(month) / horizon), Decimal(0)) + _HALF)


def curve(now: Any, at_horizon: Any, elapsed: Any) -> Any:
    """The value once a share ``elapsed`` of the horizon is over: in decimals, floats or arrays of them.

    It falls by the same share every month down to a tenth. Where less than that is left at the horizon, the curve of a
    tenth is bent down evenly to meet it. ``now`` is above zero.
    """
    left = (1 + above_nothing(10 * at_horizon / now - 1)) / 10  # the share left at the horizon, at least a tenth
    return now * left**elapsed - (now * left - at_horizon) * elapsed
