"""Medians, quartiles and their rounding, and the medians of running costs that new offers start from."""

from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction
from typing import NamedTuple

from costing.core.catalogue.running import AS_ASKED, FUEL
from costing.core.group.contributors import LOWEST_MINIMUM
from costing.core.periods import overlap
from costing.core.records import Period


class Rounding(NamedTuple):
    """The steps to which figures are rounded, in whole pence: for a lesson hour and for a mile."""

    lesson_hour: int

    @property
    def mile(self) -> int:
        return self.lesson_hour // 10


def rounded(value: Fraction, step: int | Fraction) -> Fraction:
    """Return the multiple of ``step`` nearest to the exact ``value``, a half going up."""
    return (value / step + Fraction(1, 2)).__floor__() * Fraction(step)


_FUELS = ("petrol", "diesel", "hybrid", "plugin_hybrid", "electric")


def fuel_key(fuel: str) -> str:
    """Return the key of the median cost a mile of one fuel."""
    return f"{FUEL.key}_{fuel}"


def is_of_fuel(key: str) -> bool:
    """Say whether a key of `RUNNING_STEPS` is that of a fuel: pence a mile; the others are pounds a year."""
    return key.startswith(FUEL.key)


#: The running costs that have a median, each with the step it is rounded to: pounds, or pence a mile.
RUNNING_STEPS: Mapping[str, Fraction] = {
    key: part.median_step
    for part in AS_ASKED
    if part.median_step is not None
    for key in ([fuel_key(fuel) for fuel in _FUELS] if part is FUEL else [part.key])
}


def quantile(values: Iterable[Fraction], part: Fraction) -> Fraction:
    """Return the value at ``part`` (0 to 1) of the way through the sorted values, exactly.

    Linear interpolation at (n - 1) x part, type 7 of Hyndman and Fan (1996); at one half it is the
    median, the mean of the two middle values when their number is even. Raises ValueError on none.
    """
    ordered = sorted(values)
    if not ordered:
        raise ValueError("no values, no quantile")
    place = (len(ordered) - 1) * part
    below = int(place)
    above = min(below + 1, len(ordered) - 1)
    return ordered[below] + (ordered[above] - ordered[below]) * (place - below)


def may_have_running(year: Period, having: Iterable[Period]) -> bool:
    """Say whether a ``year`` may have medians of running costs, where those ``having`` some are stored already.

    It may if it shares no day with any of them. A sum that slides from an old premium to a new one would otherwise fall
    into another step at each closing, and twelve steps of 50 pounds tell either premium to a few pounds.
    """
    return not any(overlap(year, other) for other in having)


def running_medians(values: Sequence[Mapping[str, Fraction]], minimum: int) -> dict[str, Fraction]:
    """Return the rounded medians by key of `RUNNING_STEPS`; ``values`` has one mapping for each contributor.

    A key with fewer than ``minimum`` values (never below five) is left out, however many there are of other keys.

    Each value is rounded before the middle is taken, so that a median never tells of a value more than the step in
    which it lies. If the mean of two exact values were rounded, whoever has one of them would choose where the edge
    of the step falls on the other; by moving it at each closing they would soon know a premium that stays the same.
    """
    found = {
        key: [rounded(value[key], step) for value in values if key in value] for key, step in RUNNING_STEPS.items()
    }
    return {
        key: rounded(quantile(of_key, Fraction(1, 2)), RUNNING_STEPS[key])
        for key, of_key in found.items()
        if len(of_key) >= max(minimum, LOWEST_MINIMUM)
    }
