"""How much of the change of a product each of its factors made: the Shapley value over them.

Let the factors change one after another, in every order that there is; a factor's part is the mean of what the
product changed by when its turn came. Shapley (1953), A Value for n-Person Games, Contributions to the Theory of Games
II (from memory). Das Gupta (1993), Standardization and Decomposition of Rates, a user's manual, has the same for a rate
that is a product of factors: of two, each change counts at the mean of the other factor (read in a restatement); of
three, at a third of the other two both before and both after, and a sixth of each mixture (from memory).

The classic variances of a textbook are one of these orders: price at the quantity after, quantity at the price before.
What the two made together then belongs to the price. The mean of all orders treats factors and periods alike.
"""

from collections.abc import Sequence
from fractions import Fraction
from itertools import combinations
from math import factorial, lcm, prod


def shares_of_change(before: Sequence[Fraction], after: Sequence[Fraction]) -> list[Fraction]:
    """Return what the change of each factor added to the change of the product of all, exactly.

    The parts add up to that change; that of a factor which has not changed is nought; they change their sign if the
    two are swapped.
    """
    # In whole numbers, each factor over one denominator: fractions would find a common one at every step.
    below = [lcm(old.denominator, new.denominator) for old, new in zip(before, after, strict=True)]
    olds, news = ([int(one * each) for one, each in zip(side, below, strict=True)] for side in (before, after))
    whole = factorial(len(below)) * prod(below)
    return [Fraction((news[i] - olds[i]) * _others(i, olds, news), whole) for i in range(len(below))]


def _others(index: int, before: Sequence[int], after: Sequence[int]) -> int:
    """The products of the other factors when it is the turn of the one at ``index``, over all orders, added up."""
    others = [other for other in range(len(before)) if other != index]
    added = 0
    for changed in range(len(others) + 1):
        orders = factorial(changed) * factorial(len(others) - changed)
        for first in combinations(others, changed):
            added += orders * prod(after[other] if other in first else before[other] for other in others)
    return added
