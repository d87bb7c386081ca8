"""Medians and quartiles, and the medians of running costs that offers for a next car start from."""

from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction

from costing.core.catalogue.running import AS_ASKED, FUEL
from costing.core.group.contributors import LOWEST_MINIMUM
from costing.core.group.rounding import rounded

_FUELS = ("petrol", "diesel", "hybrid", "plugin_hybrid", "electric")


def fuel_key(fuel: str) -> str:
    """The key of the median of what one fuel costs a mile."""
    return f"{FUEL.key}_{fuel}"


#: The running costs of which there is a median, with the step to which it is rounded: pounds, or pence a mile.
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


def running_medians(values: Sequence[Mapping[str, Fraction]], minimum: int) -> dict[str, Fraction]:
    """Return, by key of `RUNNING_STEPS`, the rounded median of one value a contributor.

    A key of fewer than ``minimum`` (never below five) values is left out, however many contribute to others.
    """
    found = {key: [value[key] for value in values if key in value] for key in RUNNING_STEPS}
    return {
        key: rounded(quantile(of_key, Fraction(1, 2)), RUNNING_STEPS[key])
        for key, of_key in found.items()
        if len(of_key) >= max(minimum, LOWEST_MINIMUM)
    }
