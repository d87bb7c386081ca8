"""How often each offer is cheapest when everything that has a range is drawn at random.

All offers meet the same draws, so that they differ only by their terms. A draw is a triangle from the lowest to the
highest by way of the likely; the years of one insurance list are drawn at one quantile; months and weeks are whole,
half up. Where there are chances of leaving, each draw leaves by them.
"""

from collections.abc import Iterator
from fractions import Fraction
from itertools import accumulate

import numpy as np

from costing.choosing.core.case import Case, Spread
from costing.choosing.core.chances import DRAWS, Odds, Untold
from costing.choosing.core.draws import Drawn, Floats, pairs_drawn, totals
from costing.choosing.core.inputs import Place, varied
from costing.core.money import divide_half_up

SEED = 20_260_406
#: Percentiles: four in five draws lie between the lowest and the highest.
_LOW, _MIDDLE, _HIGH = 10, 50, 90


def odds(case: Case, *, draws: int = DRAWS, seed: int = SEED, most_pairs: int | None = None) -> tuple[Odds, ...]:
    """Draw what is uncertain and compare the offers in each draw. The same seed gives the same figures.

    Raises Untold where nothing has a range, where a draw rests on something that isn't told, or if the pairs of months
    and weeks off, times the offers, are more than ``most_pairs``.
    """
    drawn = draw(case, draws, seed)
    _check_few(case, drawn, most_pairs)
    _check_told(case, drawn)
    found = totals(case, drawn)
    is_least = found == found.min(axis=0)
    shares = (is_least / is_least.sum(axis=0)).mean(axis=1)
    ranges = np.percentile(found, (_LOW, _MIDDLE, _HIGH), axis=1).T
    return tuple(
        Odds(offer.name, Fraction(float(share)), *(_whole(pence) for pence in (mean, *spread)))
        for offer, share, mean, spread in zip(case.offers, shares, found.mean(axis=1), ranges, strict=True)
    )


def draw(case: Case, draws: int, seed: int) -> Drawn:
    """Draw every range of a case. Raises Untold if it has none, and no chances of leaving."""
    if not case.uncertain and not any(chance.chance for chance in case.use.leaving):
        raise Untold("no figure has a range, and there are no chances of leaving")
    rng = np.random.default_rng(seed)
    values: dict[Place, list[Floats]] = {}
    for one in case.uncertain:
        quantile = rng.random(draws)
        place = Place(one.input, one.offer, one.at)
        values[place] = [_rounded(place, _triangular(spread, quantile)) for spread in one.spreads]
    [off] = values.pop(Place("weeks_off"), [np.zeros(draws)])
    [months] = values.pop(Place("months"), [_leaving(case, rng, draws)])
    return Drawn(values, np.maximum(1.0, months), off)


def _triangular(spread: Spread, quantile: Floats) -> Floats:
    """The value below which a triangle has the share ``quantile`` of its draws."""
    low, likely, high = (float(value) for value in spread)
    if low == high:
        return np.full_like(quantile, low)
    rising = low + np.sqrt(quantile * (high - low) * (likely - low))
    falling = high - np.sqrt((1 - quantile) * (high - low) * (high - likely))
    return np.where(quantile < (likely - low) / (high - low), rising, falling)


def _rounded(place: Place, values: Floats) -> Floats:
    """Money in whole pence, months and weeks whole: half up. The rest is as drawn."""
    return np.floor(values + 0.5) if place.is_whole or place.unit == "pounds" else values


def _leaving(case: Case, rng: np.random.Generator, draws: int) -> Floats:
    """The month in which each draw leaves; whoever doesn't leave stays to the horizon."""
    chances = case.use.leaving
    if not chances:
        return np.full(draws, float(case.use.months))
    up_to = [float(share) for share in accumulate(chance.chance for chance in chances)]
    months = np.array([*(chance.month for chance in chances), case.use.months], dtype=float)
    return months[np.searchsorted(up_to, rng.random(draws), side="right")]


def _check_few(case: Case, drawn: Drawn, most_pairs: int | None) -> None:
    """Raises Untold if the offers would be worked out too often."""
    pairs, offers = pairs_drawn(drawn), len(case.offers)
    if most_pairs is not None and pairs * offers > most_pairs:
        made = f"the ranges make {pairs:,} pairs of months and weeks off"
        raise Untold(f"{made}, and for {offers} offers at most {most_pairs // offers:,} can be worked out: narrow one")


def _check_told(case: Case, drawn: Drawn) -> None:
    """Raises Untold if the total of an offer isn't told in every month drawn, at the most miles drawn."""
    for month in _months_drawn(drawn):
        values = {Place("months"): Fraction(month)}
        if miles := drawn.values.get(Place("miles_per_year")):
            values[Place("miles_per_year")] = Fraction(float(miles[0].max()))
        course = varied(case, values)
        for offer in case.offers:
            if course.figures_of(offer.name).not_told:
                raise Untold(_where(case, offer.name, month))


def _months_drawn(drawn: Drawn) -> Iterator[int]:
    yield from sorted({int(month) for month in drawn.months}, reverse=True)


def _where(case: Case, name: str, month: int) -> str:
    if month == case.use.months:
        return f"not everything that {name} costs is told"
    return f"not everything that {name} costs is told if you leave after {month} months"


def _whole(pence: float) -> int:
    return divide_half_up(Fraction(float(pence)), 1)
