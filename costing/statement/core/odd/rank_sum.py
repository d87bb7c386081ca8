"""The exact one-sided rank-sum test: whether a few values lie below others by more than chance.

Mann and Whitney (1947), On a Test of Whether one of Two Random Variables is Stochastically Larger than the Other,
Annals of Mathematical Statistics 18, 50-60; the count of orders is their recurrence. It asks only which value is the
lower, so one odd tank weighs no more than one that is just lower, and it is exact for as few values as there are.
"""

from collections.abc import Sequence
from fractions import Fraction
from functools import cache
from math import comb


def pairs_below(few: Sequence[int], many: Sequence[int]) -> int:
    """In how many pairs of one each the one of ``few`` is the lower; a tie counts as if it were not."""
    return sum(one < other for one in few for other in many)


@cache
def chance_of(below: int, few: int, many: int) -> Fraction:
    """The chance that so many pairs or more are ``below``, if all values are drawn from the same.

    ``few`` and ``many`` are how many values there are. With ties it is an upper bound, because they count against.
    """
    orders = sum(_orders(few, many, above) for above in range(few * many - below + 1))
    return Fraction(orders, comb(few + many, few))


@cache
def _orders(few: int, many: int, above: int) -> int:
    """The orders of all values in which exactly so many pairs are above; the highest value is of one or the other."""
    if above < 0:
        return 0
    if not few or not many:
        return int(above == 0)
    return _orders(few - 1, many, above - many) + _orders(few, many - 1, above)
