"""How far the line of what leaving then costs may lie lower or higher: the band round it in the picture."""

from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import NamedTuple

from costing.choosing.core.case import Case
from costing.choosing.core.figures import Figures
from costing.choosing.core.inputs import Place, Value, Varied, bears_on, offer_named, varied
from costing.choosing.core.verdicts import PairVerdict
from costing.core.catalogue.running import INSURANCE
from costing.core.shares import share

_AT_HORIZON = "value_at_horizon"


class Band(NamedTuple):
    """The lowest and the highest pence that an offer may have cost by the end of month 1, 2 and so on."""

    low: tuple[int, ...]
    high: tuple[int, ...]


def band_of(case: Case, planned: Figures, verdicts: Sequence[PairVerdict]) -> Band | None:
    """The band of one offer: with its ranges at their ends, and its untold costs from nothing to its room.

    The room grows evenly over the months. Where the room is what the car must fetch, the band is from fetching that to
    fetching nothing. None for an offer with neither ranges nor room.
    """
    name = planned.offer.name
    cheap, dear = _ends(case, name)
    room = min((one for one in verdicts if one.room_of == name), key=lambda one: one.room or 0, default=None)
    if not cheap and room is None:
        return None
    if room is not None and room.is_fetch:
        cheap = {**cheap, Place(_AT_HORIZON, name): Fraction(max(0, room.room or 0))}
    low, high = _line(case, name, cheap), _line(case, name, dear)
    if room is not None and not room.is_fetch:
        months = len(high)
        high = tuple(pence + share(room.room or 0, month, months) for month, pence in enumerate(high, 1))
    return Band(low, high)


def _ends(case: Case, name: str) -> tuple[dict[Place, Value], dict[Place, Value]]:
    """The end of each range at which the offer costs least, and the end at which it costs most."""
    cheap, dear = dict[Place, Value](), dict[Place, Value]()
    for one in case.uncertain:
        place = Place(one.input, one.offer, one.at)
        if place.is_whole or not bears_on(case, place, offer_named(case, name)):
            continue
        low, _, high = zip(*one.spreads, strict=True)
        ends: list[Value] = [low, high] if place.input == INSURANCE.key else [low[0], high[0]]
        costs = {end: varied(case, {place: end}).figures_of(name).told for end in ends}
        cheap[place], dear[place] = sorted(ends, key=costs.__getitem__)
    return cheap, dear


def _line(case: Case, name: str, values: Mapping[Place, Value]) -> tuple[int, ...]:
    at = varied(case, values).case
    return tuple(Varied(at, month).figures_of(name).told for month in range(1, case.use.months + 1))
