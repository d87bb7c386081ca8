"""What odds come as, and what they hold still: for those who show them and need not load what draws them."""

from fractions import Fraction
from typing import NamedTuple

from costing.choosing.core.case import Case
from costing.choosing.core.inputs import Place, bears_on, inputs_of

#: How many draws the odds are made of.
DRAWS = 10_000


class Untold(ValueError):
    """Why there are no odds, in words for a person."""


class Odds(NamedTuple):
    """One offer over all draws: the share in which it is cheapest, ties shared out, and its totals in pence."""

    name: str
    cheapest: Fraction
    mean: int
    low: int
    middle: int
    high: int


def without_range(case: Case) -> tuple[Place, ...]:
    """The uncertain figures that the odds hold still, since nobody has told how far they may go."""
    has_leaving = bool(case.use.leaving)
    return tuple(
        one.place
        for one in inputs_of(case)
        if one.spread is None
        and one.place.input != "weeks_off"
        and not (one.place.input == "months" and has_leaving)
        and any(bears_on(case, one.place, offer) for offer in case.offers)
    )
