"""The year's running costs on the group page: a member's own beside the group's medians."""

from collections.abc import Collection, Mapping
from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple

from config.showing import pounds
from costing.core.catalogue.running import AS_ASKED, FUEL
from costing.core.group import RUNNING_STEPS, fuel_key, is_of_fuel
from costing.core.money import to_places
from fleet.models import FuelKind


class RunningRow(NamedTuple):
    """One running cost: the member's own to the penny, and the group's median as it is rounded; "" for none.

    ``lacks`` says why there is no own figure.
    """

    words: str
    own: str
    median: str
    lacks: str


_FUELS = {fuel_key(value): f"{FUEL.words} a mile, {label.lower()}" for value, label in FuelKind.choices}
_WORDS = _FUELS | {part.key: part.words for part in AS_ASKED if part.key in RUNNING_STEPS}


def running_rows(
    own: Mapping[str, Fraction], medians: Mapping[str, Decimal], burned: Collection[str]
) -> list[RunningRow]:
    """A row for each running cost that the member or the group has; fuel is in pence a mile, all else in pounds a year.

    ``burned`` are the fuels of the member's own cars.
    """
    of_own_cars = {fuel_key(fuel) for fuel in burned}
    return [
        RunningRow(
            _WORDS[key],
            _own(key, to_places(own[key], 2)) if key in own else "",
            _median(key, medians[key]) if key in medians else "",
            "nothing logged" if key not in _FUELS else "not known" if key in of_own_cars else "no such car",
        )
        for key in RUNNING_STEPS
        if key in own or key in medians
    ]


def _own(key: str, figure: Decimal) -> str:
    return f"{figure}p" if is_of_fuel(key) else pounds(figure)


def _median(key: str, figure: Decimal) -> str:
    """The median without the places that its rounding leaves empty."""
    return f"{figure.normalize():f}p" if is_of_fuel(key) else f"£{figure:,.0f}"
