"""How often each offer is cheapest when the uncertain inputs are drawn at random: the one place that uses numpy.

All offers meet the same draws (common random numbers), so that they differ by their terms alone. Months and weeks
off are drawn as whole numbers and worked out once for each that occurs; all else goes through the very lines of
``cash_flow`` as arrays, one value a draw.
"""

from collections.abc import Iterator
from fractions import Fraction
from typing import Any, NamedTuple, TypeVar, cast

import numpy as np
import numpy.typing as npt

from costing.core.offers.cash_flow import lines_of
from costing.core.offers.inputs import INPUTS, Varied, varied
from costing.core.offers.lines import Line
from costing.core.offers.terms import Case, EarlyExit, Offer, Uncertain

DRAWS = 10_000
SEED = 20_260_406
#: The range within which four fifths of the draws lie.
_LOW, _MIDDLE, _HIGH = 10, 50, 90

Floats = npt.NDArray[np.float64]
Places = npt.NDArray[np.intp]
Record = TypeVar("Record", bound=NamedTuple)


class Odds(NamedTuple):
    """One offer over all draws: the share in which it is cheapest, equals shared, and its totals in pence."""

    name: str
    cheapest: float
    low: float
    middle: float
    high: float


def odds(case: Case, *, draws: int = DRAWS, seed: int = SEED) -> list[Odds]:
    """Draw the uncertain inputs and hold the offers against each other; empty if nothing is uncertain.

    The same seed gives the same figures. A draw in which an offer cannot be handed back so early is not one
    in which it could be had: CannotBeHandedBack is raised for it.
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
    """Pence by offer and draw."""
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
    """The places of the draws that have the same months and weeks off, by those: each draw is in one group."""
    if not wholes:
        yield {}, np.arange(draws)
        return
    kinds, which, counts = np.unique(np.stack(list(wholes.values())), axis=1, return_inverse=True, return_counts=True)
    ordered = np.argsort(which.reshape(-1), kind="stable")
    for kind, places in zip(kinds.T, np.split(ordered, np.cumsum(counts)[:-1]), strict=True):
        yield dict(zip(wholes, map(int, kind), strict=True)), places


def _totals_of(case: Varied, draws: int) -> Floats:
    scene = case.scene
    floating = scene._replace(
        use=_in_floats(scene.use),
        running=_in_floats(scene.running),
        years=cast(Fraction, float(scene.years)),
        weeks_a_month=cast(Fraction, float(scene.weeks_a_month)),
    )
    sums = [_sum(lines_of(_offer_in_floats(offer), floating), draws) for offer in case.offers]
    return np.stack(sums)


def _sum(lines: list[Line], draws: int) -> Floats:
    total: Any = np.zeros(draws)
    for line in lines:
        # A settlement is exact whatever is drawn; numpy would keep such a fraction as an object.
        amount: Any = float(line.amount) if isinstance(line.amount, Fraction) else line.amount
        total += amount * line.times
    return cast(Floats, total)


def _in_floats(record: Record) -> Record:
    """The record with its exact fractions as floats; arrays are left as they are."""
    fields = {name: float(value) for name, value in record._asdict().items() if isinstance(value, Fraction)}
    return record._replace(**fields)


def _offer_in_floats(offer: Offer) -> Offer:
    exit_rule = offer.early_exit
    if exit_rule is not None:
        exit_rule = EarlyExit(exit_rule.kind, cast(Fraction, float(exit_rule.value)))
    return _in_floats(offer._replace(early_exit=exit_rule))
