"""What closed figures tell somebody who knows every contributor's value but one.

Each figure puts the unknown value between two bounds, because a quantile rises with each of its values and a rounded
figure stands for a step. The only bound assumed beyond the figures is that a cost is not below zero, unless it is.
"""

from bisect import bisect_left
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta
from fractions import Fraction
from math import ceil, floor, inf
from typing import NamedTuple

from costing.core.records import Period

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


class Told(NamedTuple):
    """The least and the most whole pence that a closing's figures tell of one contributor's cost; None: no bound."""

    least: int | None
    most: int | None

    @classmethod
    def by(cls, every: Iterable[ValueBounds]) -> "Told":
        """What several figures tell of one cost together; it is whole pence, so each bound goes to the next penny."""
        every = list(every)
        least = max((each.low * each.weight for each in every if each.low != -inf), default=None)
        most = min((each.high * each.weight for each in every if each.high != inf), default=None)
        return cls(None if least is None else ceil(least), None if most is None else floor(most))

    @property
    def bounds(self) -> ValueBounds:
        """The bounds of the cost in pence."""
        least: Bound = -inf if self.least is None else Fraction(self.least)
        return ValueBounds(least, inf if self.most is None else Fraction(self.most), Fraction(1))

    def allows(self, pence: int) -> bool:
        """Whether the cost can be so many pence."""
        return self.bounds.low <= pence <= self.bounds.high


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


class Span(NamedTuple):
    """What is told of one member's cost in whole months, as bounds of a value whose weight makes it pence.

    ``finest`` is how closely the value may be told.
    """

    period: Period
    bounds: ValueBounds
    finest: Fraction


def tells_too_much(told: Sequence[Span], known: Sequence[Span]) -> bool:
    """Say whether ``told``, all of one period, beside ``known`` bounds the cost of any period too closely.

    That is more closely than the finest of one of its values allows by itself, and more closely than it was known
    already, which hides nothing. A cost an hour and a cost a mile bound the same pence, and months and years overlap,
    so each bounds the rise of the member's running total from one month's beginning to another. The tightest bounds are
    the shortest ways from one to the other (a system of difference constraints: R. Bellman, On a routing problem,
    1958). Bounds that leave nothing are of records corrected since, and count as too close.
    """
    days = sorted({day for span in (*told, *known) for day in _edges(span.period)})
    place_of = {day: place for place, day in enumerate(days)}
    before = _shortest([_Rise.of(span, place_of) for span in known], len(days))
    new = [_Rise.of(span, place_of) for span in told]
    both = new[0]._replace(least=max(rise.least for rise in new), most=min(rise.most for rise in new))
    finest: dict[Period, Fraction] = {}
    for period, bounds, of_value in (*told, *known):
        finest[period] = min(of_value * bounds.weight, finest.get(period, of_value * bounds.weight))
    for period, pence in finest.items():
        start, end = (place_of[day] for day in _edges(period))
        width = before[start][end] + before[end][start]
        up = min(before[start][end], _by(both, before, start, end))
        down = min(before[end][start], _by(both, before, end, start))
        if up + down < width and up + down < pence * _PARTS:
            return True
    return any(before[place][place] < 0 for place in range(len(days)))


#: Running totals are counted in whole parts of a penny, each bound outwards to the next.
_PARTS = 1_000_000


class _Rise(NamedTuple):
    """The least and the most, in parts, by which a running total rises between two places."""

    start: int
    end: int
    least: float
    most: float

    @classmethod
    def of(cls, span: Span, place_of: Mapping[date, int]) -> "_Rise":
        low, high, weight = span.bounds
        start, end = (place_of[day] for day in _edges(span.period))
        least: float = -inf if low == -inf else floor(low * weight * _PARTS)
        most: float = inf if high == inf else ceil(high * weight * _PARTS)
        return cls(start, end, least, most)


def _edges(period: Period) -> tuple[date, date]:
    return period.first, period.last + timedelta(1)


#: The most by which a running total rises from one place to another; infinite where nothing is known.
_Ways = list[list[float]]


def _shortest(rises: Iterable[_Rise], places: int) -> _Ways:
    """All shortest ways (R. W. Floyd, Algorithm 97, 1962); one from a place to itself is below 0 if bounds clash."""
    ways: _Ways = [[inf] * places for _ in range(places)]
    for place in range(places):
        ways[place][place] = 0
    for rise in rises:
        ways[rise.start][rise.end] = min(ways[rise.start][rise.end], rise.most)
        ways[rise.end][rise.start] = min(ways[rise.end][rise.start], -rise.least)
    for over, onward in enumerate(ways):
        for way in ways:
            first = way[over]
            if first < inf:
                way[:] = [min(direct, first + rest) for direct, rest in zip(way, onward, strict=True)]
    return ways


def _by(new: _Rise, ways: _Ways, start: int, end: int) -> float:
    """The shortest way from ``start`` to ``end`` that takes the ``new`` bounds once, upwards or downwards."""
    up = ways[start][new.start] + new.most + ways[new.end][end]
    down = ways[start][new.end] - new.least + ways[new.start][end]
    return min(up, down)
