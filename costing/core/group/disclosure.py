"""What closed figures tell somebody who knows the values of all contributors but one.

The one whose value is unknown is held between two bounds by each figure: rounded figures are steps, and a quantile
rises with each of its values. No bound is assumed that a figure does not give, but that costs are not below nothing,
unless they are.
"""

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from fractions import Fraction
from math import inf
from typing import NamedTuple

#: A bound in pence, exact unless it is infinite.
Bound = Fraction | float
_NOTHING = Fraction(0)


class Told(NamedTuple):
    """The bounds of one value, from ``low`` up to ``high``, and its weight in the year's."""

    low: Bound
    high: Bound
    weight: Fraction

    @classmethod
    def nothing(cls, own: Fraction | int = 0, weight: Fraction = Fraction(1)) -> "Told":
        """Of a month that tells nothing of the member's ``own`` value."""
        return cls(_lowest(own), inf, weight)


def told_by(
    figures: Iterable[tuple[Fraction, int]], step: int, *, ordered: Sequence[Fraction], own: Fraction, weight: Fraction
) -> Told:
    """Return what rounded ``figures`` tell of ``own``, one of the ``ordered`` values, to whoever knows the others.

    Each figure comes with the part of the way through the sorted values at which it is taken; ``step`` is their
    rounding in pence.
    """
    low: Bound = _lowest(own)
    high: Bound = inf
    place = bisect_left(ordered, own)
    for part, figure in figures:
        curve = _Curve.of(ordered, place, part)
        low = max(low, curve.least_for(figure - Fraction(step, 2)))
        high = min(high, curve.most_for(figure + Fraction(step, 2)))
    return Told(low, high, weight)


def told_whatever_others_had(
    figures: Iterable[tuple[Fraction, int]], step: int, *, ordered: Sequence[Fraction], own: Fraction, weight: Fraction
) -> Told:
    """Return what rounded ``figures`` of an earlier closing tell of ``own`` at the most, as `told_by` does.

    The others' records may have been changed since, on purpose: whoever lies within a figure's step is taken to have
    been the one in its middle, and whoever lies beside it to be known to lie on that side. What the others' values
    of today tell besides is counted with, as long as it fits.
    """
    low: Bound = _lowest(own)
    high: Bound = inf
    figures, half = list(figures), Fraction(step, 2)
    for _, figure in figures:
        if own >= figure - half:
            low = max(low, figure - half)
        if own < figure + half:
            high = min(high, figure + half)
    today = told_by(figures, step, ordered=ordered, own=own, weight=weight)
    if today.low <= own < today.high:
        low, high = max(low, today.low), min(high, today.high)
    return Told(low, high, weight)


def _lowest(own: Fraction | int) -> Bound:
    """What is known before any figure: costs are not below nothing, but for whoever had more paid back."""
    return _NOTHING if own >= 0 else -inf


class _Curve(NamedTuple):
    """How a quantile rises with the one value that is not known: flat, then by 1 - ``over``, by ``over``, flat.

    The value counts between ``start`` and ``end``; at ``middle`` it changes places with a known one.
    """

    start: Bound
    middle: Bound
    end: Bound
    over: Fraction

    @classmethod
    def of(cls, ordered: Sequence[Fraction], own: int, part: Fraction) -> "_Curve":
        """The quantile at ``part`` of the way through ``ordered``, whose value at the place ``own`` is unknown."""

        def known(place: int) -> Bound:
            if place < 0:
                return -inf
            place += place >= own
            return ordered[place] if place < len(ordered) else inf

        at = (len(ordered) - 1) * part
        below = int(at)
        return cls(known(below - 1), known(below), known(below + 1), at - below)

    def least_for(self, figure: Fraction) -> Bound:
        """The value from which on the quantile is not below ``figure``."""
        at = self._value_for(figure)
        return -inf if at <= self.start else at

    def most_for(self, figure: Fraction) -> Bound:
        """The value up to which the quantile stays below ``figure``."""
        at = self._value_for(figure)
        return inf if at > (self.end if self.over else self.middle) else at

    def _value_for(self, figure: Fraction) -> Fraction:
        """The value with which the quantile would be ``figure`` if it went on rising at its ends."""
        if not self.over:
            return figure
        middle = Fraction(self.middle)
        # Below the middle the known value there has the share ``over``; above it, the rest.
        if figure <= middle:
            return (figure - self.over * middle) / (1 - self.over)
        return (figure - (1 - self.over) * middle) / self.over


def tells_too_much(year: Told, months: Sequence[Told], finest: Fraction) -> bool:
    """Whether a year's figures beside its months' hold the year's value, or a month's, between bounds under ``finest``.

    ``months``: all that add to the year, whose value is their mean by weight. What the months have told by themselves
    is told. Bounds that leave nothing come of records that were corrected since a month was closed: they tell nothing.
    """
    lows = [month.low * month.weight for month in months]
    highs = [month.high * month.weight for month in months]
    least, most = _total(lows), _total(highs)
    if _is_narrowed(least / year.weight, most / year.weight, year.low, year.high, finest):
        return True
    for index, month in enumerate(months):
        # What the year leaves for this month when the others are at their most, or at their least.
        from_year = (year.low * year.weight - _total(highs[:index] + highs[index + 1 :])) / month.weight
        to_year = (year.high * year.weight - _total(lows[:index] + lows[index + 1 :])) / month.weight
        if _is_narrowed(month.low, month.high, from_year, to_year, finest):
            return True
    return False


def _total(bounds: Iterable[Bound]) -> Bound:
    return sum(bounds, start=_NOTHING)


def _is_narrowed(low: Bound, high: Bound, new_low: Bound, new_high: Bound, finest: Fraction) -> bool:
    """Whether new bounds bring the old ones closer together, to under ``finest``."""
    width = min(high, new_high) - max(low, new_low)
    return 0 <= width < finest and width < high - low
