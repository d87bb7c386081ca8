"""What closed figures tell somebody who knows every contributor's value but one.

Each figure puts the unknown value between two bounds, because a quantile rises with each of its values and a rounded
figure stands for a step. The only bound assumed beyond the figures is that a cost is not below zero, unless it is.
"""

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from fractions import Fraction
from math import inf
from typing import NamedTuple

#: A bound in pence, exact unless it is infinite.
Bound = Fraction | float
_ZERO = Fraction(0)


class ValueBounds(NamedTuple):
    """The bounds of one value, from ``low`` up to ``high``, and its weight in the year's value."""

    low: Bound
    high: Bound
    weight: Fraction

    @classmethod
    def unknown(cls, own: Fraction | int = 0, weight: Fraction = Fraction(1)) -> "ValueBounds":
        """The bounds in a month whose figures tell nothing about the member's ``own`` value."""
        return cls(_lowest(own), inf, weight)


def told_by(
    figures: Iterable[tuple[Fraction, int]], step: int, *, ordered: Sequence[Fraction], own: Fraction, weight: Fraction
) -> ValueBounds:
    """Return what rounded ``figures`` tell about ``own``, one of ``ordered``, to somebody who knows the other values.

    Each figure comes with the fraction of the way through the sorted values at which it is taken. ``step`` is the
    rounding in pence.
    """
    low: Bound = _lowest(own)
    high: Bound = inf
    place = bisect_left(ordered, own)
    for part, figure in figures:
        curve = _Curve.of(ordered, place, part)
        low = max(low, curve.least_for(figure - Fraction(step, 2)))
        high = min(high, curve.most_for(figure + Fraction(step, 2)))
    return ValueBounds(low, high, weight)


def told_whatever_others_had(
    figures: Iterable[tuple[Fraction, int]], step: int, *, ordered: Sequence[Fraction], own: Fraction, weight: Fraction
) -> ValueBounds:
    """Return the most that rounded ``figures`` of an earlier closing can tell about ``own``, as `told_by` does.

    Other members may have changed their records since, on purpose. So a value within a figure's step counts as the one
    in the middle, and a value beside the step counts as known to lie on that side. What the others' present values
    tell is added as long as it is consistent.
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
    return ValueBounds(low, high, weight)


def _lowest(own: Fraction | int) -> Bound:
    """The bound before any figure is known: a cost is at least zero, except for somebody who was refunded more."""
    return _ZERO if own >= 0 else -inf


class _Curve(NamedTuple):
    """How a quantile rises with the unknown value: flat, then by 1 - ``over``, then by ``over``, then flat.

    The unknown value matters between ``start`` and ``end``; at ``middle`` it changes places with a known value.
    """

    start: Bound
    middle: Bound
    end: Bound
    over: Fraction

    @classmethod
    def of(cls, ordered: Sequence[Fraction], own: int, part: Fraction) -> "_Curve":
        """The curve of the quantile at ``part`` of the way through ``ordered``; the one at index ``own`` is unknown."""

        def known(place: int) -> Bound:
            if place < 0:
                return -inf
            place += place >= own
            return ordered[place] if place < len(ordered) else inf

        at = (len(ordered) - 1) * part
        below = int(at)
        return cls(known(below - 1), known(below), known(below + 1), at - below)

    def least_for(self, figure: Fraction) -> Bound:
        """The lowest value with which the quantile is not below ``figure``."""
        at = self._value_for(figure)
        return -inf if at <= self.start else at

    def most_for(self, figure: Fraction) -> Bound:
        """The value up to which the quantile stays below ``figure``."""
        at = self._value_for(figure)
        return inf if at > (self.end if self.over else self.middle) else at

    def _value_for(self, figure: Fraction) -> Fraction:
        """The value with which the quantile would be ``figure`` if it kept rising at both ends."""
        if not self.over:
            return figure
        middle = Fraction(self.middle)
        # Below the middle the known value there has the share ``over``; above it, the rest.
        if figure <= middle:
            return (figure - self.over * middle) / (1 - self.over)
        return (figure - (1 - self.over) * middle) / self.over


def tells_too_much(year: ValueBounds, months: Sequence[ValueBounds], finest: Fraction) -> bool:
    """Say whether a year's figures, beside its months', bound a value of the year or a month to less than ``finest``.

    ``months`` are all that add to the year, whose value is their weighted mean. What the months told alone is out
    already. Bounds that contradict each other come from records corrected after a month was closed, and tell nothing.
    """
    lows = [month.low * month.weight for month in months]
    highs = [month.high * month.weight for month in months]
    least, most = _total(lows), _total(highs)
    if _is_narrowed(least / year.weight, most / year.weight, year.low, year.high, finest):
        return True
    for index, month in enumerate(months):
        # What the year leaves for this month if the others are at their highest, or at their lowest.
        from_year = (year.low * year.weight - _total(highs[:index] + highs[index + 1 :])) / month.weight
        to_year = (year.high * year.weight - _total(lows[:index] + lows[index + 1 :])) / month.weight
        if _is_narrowed(month.low, month.high, from_year, to_year, finest):
            return True
    return False


def _total(bounds: Iterable[Bound]) -> Bound:
    return sum(bounds, start=_ZERO)


def _is_narrowed(low: Bound, high: Bound, new_low: Bound, new_high: Bound, finest: Fraction) -> bool:
    """Say whether new bounds bring the old ones closer together, to less than ``finest``."""
    width = min(high, new_high) - max(low, new_low)
    return 0 <= width < finest and width < high - low
