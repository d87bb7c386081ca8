"""How often each offer is cheapest when the uncertain inputs are drawn at random. Only this module uses numpy.

All offers meet the same draws (common random numbers), so they differ only by their terms. Months and weeks off are
drawn as whole numbers, and each pair that occurs is worked out once. Everything else goes through the same items of
`cash_flow` as arrays, with one value for each draw.
"""

from collections.abc import Iterator
from fractions import Fraction
from typing import Any, NamedTuple, TypeVar, cast

import numpy as np
import numpy.typing as npt

from costing.choosing.core.case import Case, EarlyExit, Offer, Uncertain
from costing.choosing.core.cash_flow import items_of
from costing.choosing.core.inputs import INPUTS, Varied, varied
from costing.choosing.core.payments import CashFlowItem

DRAWS = 10_000
SEED = 20_260_406
#: Percentiles: four in five draws lie between the lowest and the highest.
_LOW, _MIDDLE, _HIGH = 10, 50, 90

Floats = npt.NDArray[np.float64]
Places = npt.NDArray[np.intp]
Record = TypeVar("Record", bound=NamedTuple)


class Odds(NamedTuple):
    """One offer over all draws: the share in which it is cheapest, ties shared out, and its totals in pence."""

    name: str
    cheapest: float
    low: float
    middle: float
    high: float


def odds(case: Case, *, draws: int = DRAWS, seed: int = SEED) -> list[Odds]:
    """Draw the uncertain inputs and compare the offers in each draw; empty if nothing is uncertain.

    The same seed gives the same figures. Raises CannotBeHandedBack if a draw hands a car back too early.
    """
    if not case.uncertain:
        return []
    totals = draw_totals(case, draws, seed)
    least = totals.min(axis=0)
    is_least = totals == least
    shares = (is_least / is_least.sum(axis=0)).mean(axis=1)
    ranges = np.percentile(totals, (_LOW, _MIDDLE, _HIGH), axis=1)
    return [
        Odds(offer.name, float(share), *map(float, spread))
        for offer, share, spread in zip(case.offers, shares, ranges.T, strict=True)
    ]


def draw_totals(case: Case, draws: int, seed: int) -> Floats:
    """The total of each offer in each draw, in pence."""
    rng = np.random.default_rng(seed)
    values = {(one.input, one.offer): _triangular(rng, one, draws) for one in case.uncertain}
    wholes = {key: np.rint(drawn) for key, drawn in values.items() if INPUTS[key[0]].is_whole}
    totals = np.empty((len(case.offers), draws))
    for chosen, some in _groups(wholes, draws):
        group = {key: chosen[key] if key in chosen else drawn[some] for key, drawn in values.items()}
        totals[:, some] = _totals_of(varied(case, cast(Any, group)), some.size)
    return totals


def _triangular(rng: np.random.Generator, one: Uncertain, draws: int) -> Floats:
    low, likely, high = float(one.low), float(one.likely), float(one.high)
    if low == high:
        return np.full(draws, low)
    return rng.triangular(low, likely, high, draws)


def _groups(wholes: dict[tuple[str, str], Floats], draws: int) -> Iterator[tuple[dict[tuple[str, str], int], Places]]:
    """Group the draws that share the same months and weeks off; each draw is in one group."""
    if not wholes:
        yield {}, np.arange(draws)
        return
    kinds, which, counts = np.unique(np.stack(list(wholes.values())), axis=1, return_inverse=True, return_counts=True)
    ordered = np.argsort(which.reshape(-1), kind="stable")
    for kind, places in zip(kinds.T, np.split(ordered, np.cumsum(counts)[:-1]), strict=True):
        yield dict(zip(wholes, map(int, kind), strict=True)), places


def _totals_of(case: Varied, draws: int) -> Floats:
    scenario = case.scenario
    floating = scenario._replace(
        use=_in_floats(scenario.use),
        running=_in_floats(scenario.running),
        years=cast(Fraction, float(scenario.years)),
        weeks_a_month=cast(Fraction, float(scenario.weeks_a_month)),
    )
    sums = [_sum(items_of(_offer_in_floats(offer), floating), draws) for offer in case.offers]
    return np.stack(sums)


def _sum(items: list[CashFlowItem], draws: int) -> Floats:
    total: Any = np.zeros(draws)
    for item in items:
        # A settlement stays an exact fraction, which numpy would keep as an object.
        amount: Any = float(item.amount) if isinstance(item.amount, Fraction) else item.amount
        total += amount * item.times
    return cast(Floats, total)


def _in_floats(record: Record) -> Record:
    """The record with its exact fractions as floats; arrays stay as they are."""
    fields = {name: float(value) for name, value in record._asdict().items() if isinstance(value, Fraction)}
    return record._replace(**fields)


def _offer_in_floats(offer: Offer) -> Offer:
    exit_rule = offer.early_exit
    if exit_rule is not None:
        exit_rule = EarlyExit(exit_rule.kind, cast(Fraction, float(exit_rule.value)))
    return _in_floats(offer._replace(early_exit=exit_rule))
