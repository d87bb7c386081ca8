"""Switching values: where the other of two offers becomes the cheaper one, as one figure of the case changes.

They are solved, not scanned. In a sum of money, a price or miles, a total is a straight line but for the points where
it bends: where an allowance is used up, where half of the total price is paid, where another way out becomes the
lowest. Each bend shows in how the offer is left, so it is found by halving; between bends a straight line meets
another at most once. Months and weeks off are whole and few, and each is worked out.
"""

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from fractions import Fraction
from functools import cache
from itertools import groupby, pairwise
from typing import NamedTuple, cast

from costing.choosing.core.case import Case
from costing.choosing.core.figures import Figures
from costing.choosing.core.inputs import Input, Place, Varied, bears_on, inputs_of, offer_named, varied
from costing.choosing.core.verdicts import verdicts
from costing.choosing.core.ways_out import CannotBeHandedBack
from costing.core.catalogue.agreements import EXCESS_MILES, HALF_RULE

#: How far an input may go if nobody has said: to this many times its planned value.
_MOST = 3
_MOST_WEEKS_OFF = 26
#: The finest step of a value: a penny, a ten thousandth of a penny for what is priced in pence, a hundredth of a mile.
_STEPS = {"pounds": Fraction(1), "pence": Fraction(1, 10_000), "miles": Fraction(1, 100)}
#: What is still owed bends in the terms of the credit, so it is looked at in this many parts.
_PARTS_OF_A_CURVE = 32
_TERMS_OF_CREDIT = {"price", "deposit", "payment", "final_payment", "fees"}


class Switch(NamedTuple):
    """Where the ``cheaper`` of two offers stops being, or again becomes, the cheaper one.

    ``value`` is in the input's own unit, money in pence. For months it is the first and the last month of a time in
    which the other is cheaper; for weeks off the first week on the other side. None is nowhere in range. ``offer``
    is empty, or names the offer whose figure it is; ``at`` says which of two fuels.
    """

    cheaper: str
    than: str
    input: str
    offer: str
    base: Fraction
    low: Fraction
    high: Fraction
    value: Fraction | tuple[int, int] | None
    at: int = 0


class _Pair(NamedTuple):
    """Two offers, the cheaper one first, and the parts that are left out of both."""

    cheaper: str
    than: str
    if_same: frozenset[str]


#: The figures of a named offer at one value of the input; None where the plan would leave no car.
Outcome = Callable[[str, Fraction], Figures | None]
#: By how many pence one offer leads the other at one value of the input; None where that isn't known.
LeadAt = Callable[[Fraction], int | None]


class Switching:
    """The switching values of a case. What an offer comes to at one value serves each of its pairs."""

    def __init__(self, case: Case) -> None:
        self.case = case
        self._plan = {offer.name: Varied(case, case.use.months).figures_of(offer.name) for offer in case.offers}
        self._lines = dict[Place, _Line]()

    def values(self, *names: str) -> tuple[Switch, ...]:
        """Every value at which the cheaper one changes, for each pair of offers and each input that bears on it.

        With the ``names`` of two offers, for that pair alone.
        """
        pairs = tuple(pair for pair in self._pairs() if not names or set(names) == set(pair[:2]))
        return tuple(switch for pair in pairs for one in inputs_of(self.case) for switch in self._of_input(pair, one))

    def _of_input(self, pair: _Pair, one: Input) -> Iterator[Switch]:
        low, high = _range(one)
        if low >= high or not any(bears_on(self.case, one.place, self._plan[name].offer) for name in pair[:2]):
            return
        line = self._lines.setdefault(one.place, _Line(self.case, one.place, self._plan))
        for value in line.values(pair, one.base, low, high) or (None,):
            yield Switch(*pair[:2], *one.place[:2], one.base, low, high, value, one.place.at)

    def _pairs(self) -> Iterator[_Pair]:
        """The pairs of which everything is told, or left out of both."""
        for verdict in verdicts(self.case, tuple(self._plan.values())):
            if not verdict.of:
                in_order = [name for name in self._plan if name in (verdict.a, verdict.b)]
                cheaper, than = sorted(in_order, key=lambda name: self._plan[name].told)
                yield _Pair(cheaper, than, frozenset(verdict.if_same))


def _range(one: Input) -> tuple[Fraction, Fraction]:
    """How far it may go; what is planned lies inside."""
    if one.spread is not None:
        return min(one.spread.low, one.base), max(one.spread.high, one.base)
    return Fraction(0), Fraction(_MOST_WEEKS_OFF) if one.place.input == "weeks_off" else one.base * _MOST


class _Line:
    """The totals of every offer along one input."""

    def __init__(self, case: Case, place: Place, plan: Mapping[str, Figures]) -> None:
        self.case, self.place = case, place

        @cache
        def at(value: Fraction) -> Varied:
            return varied(case, {place: value})

        @cache
        def outcome(name: str, value: Fraction) -> Figures | None:
            offer = offer_named(case, name)
            if not bears_on(case, place, offer):
                return plan[name]
            try:
                return at(value).figures_of(name)
            except CannotBeHandedBack:
                return None

        @cache
        def bends(name: str, low: Fraction, base: Fraction, high: Fraction) -> tuple[Fraction, ...]:
            return tuple(
                _bends(lambda value: cast(Figures, outcome(name, value)), self._nodes(name, low, base, high), self.step)
            )

        self.outcome, self.bends = outcome, bends

    @property
    def step(self) -> Fraction:
        return _STEPS[self.place.unit]

    def _nodes(self, name: str, low: Fraction, base: Fraction, high: Fraction) -> list[Fraction]:
        nodes = {low, base, high}
        if self.place.input in _TERMS_OF_CREDIT and offer_named(self.case, name).is_credit:
            nodes |= {low + (high - low) * part / _PARTS_OF_A_CURVE for part in range(1, _PARTS_OF_A_CURVE)}
        return sorted(nodes)

    def values(
        self, pair: _Pair, base: Fraction, low: Fraction, high: Fraction
    ) -> Sequence[Fraction | tuple[int, int]]:
        """Every value at which the cheaper of the pair changes, the nearest to the base first."""

        def lead(value: Fraction) -> int | None:
            return self._lead(pair, value)

        if self.place.input == "months":
            return _intervals(lead, base, low, high)
        if self.place.is_whole:
            nodes: Sequence[Fraction] = _whole(low, high)
        else:
            nodes = sorted({node for name in pair[:2] for node in self.bends(name, low, base, high)})
        step = Fraction(1) if self.place.is_whole else self.step
        found = [_meeting(lead, *ends, step, self.place.is_whole) for ends in _changes(lead, nodes)]
        return sorted(found, key=lambda value: abs(value - base))

    def _lead(self, pair: _Pair, value: Fraction) -> int | None:
        one, other = self.outcome(pair.cheaper, value), self.outcome(pair.than, value)
        if one is None or other is None:
            return None
        if pair.if_same.issuperset((*one.not_told, *other.not_told)):
            return other.told - one.told
        [verdict] = verdicts(self.case, (one, other))
        if verdict.cheaper is None:
            return None
        return 1 if verdict.cheaper == pair.cheaper else -1


def _whole(low: Fraction, high: Fraction) -> list[Fraction]:
    return [Fraction(value) for value in range(math.ceil(low), math.floor(high) + 1)]


def _intervals(lead: LeadAt, base: Fraction, low: Fraction, high: Fraction) -> list[tuple[int, int]]:
    """The times in which the other one is cheaper, first and last month, the nearest to the base first."""
    months = _whole(max(low, Fraction(1)), high)
    found = []
    for is_other, group in groupby(months, key=lambda month: (lead(month) or 0) < 0):
        if is_other:
            of_group = list(group)
            found.append((int(of_group[0]), int(of_group[-1])))
    return sorted(found, key=lambda ends: (max(ends[0] - base, base - ends[1]), ends))


def _bends(outcome: Callable[[Fraction], Figures], nodes: Sequence[Fraction], step: Fraction) -> Iterator[Fraction]:
    """The nodes, and both sides of every bend between them."""
    yield nodes[0]
    for one, other in pairwise(nodes):
        yield from _bends_between(outcome, one, other, step)
        yield other


def _bends_between(
    outcome: Callable[[Fraction], Figures], one: Fraction, other: Fraction, step: Fraction
) -> Iterator[Fraction]:
    while (how := _how_left(outcome(one))) != _how_left(outcome(other)):
        last = one
        end = other
        while (middle := _between(last, end, step)) is not None:
            if _how_left(outcome(middle)) == how:
                last = middle
            else:
                end = middle
        yield from (last, end)
        one = end


def _how_left(figures: Figures) -> tuple[object, ...]:
    """What stays the same along a straight stretch of an offer's total."""
    charged = {item.part for item in figures.taken.items if item.total}
    are_charged = (part in charged for part in (EXCESS_MILES.name, HALF_RULE.name))
    return (figures.way_out, figures.not_told, *are_charged, *(bool(one.reason) for one in figures.exits))


def _between(one: Fraction, other: Fraction, step: Fraction) -> Fraction | None:
    """A value on the grid of ``step`` about half-way between two; None if there is none between them."""
    middle = math.floor((one + other) / 2 / step) * step
    middle = middle if middle > one else middle + step
    return middle if one < middle < other else None


def _changes(lead: LeadAt, nodes: Sequence[Fraction]) -> Iterator[tuple[Fraction, Fraction]]:
    """The stretches in which the lead passes to the other offer, or from being unknown to what it was not before."""
    leader, before = 0, nodes[0]
    for node in nodes:
        now = lead(node)
        if now and leader * now < 0:
            yield before, node
        leader, before = now or leader, node if now != 0 else before


def _meeting(lead: LeadAt, one: Fraction, other: Fraction, step: Fraction, is_whole: bool) -> Fraction:
    """Where the lead changes sides between two values: where it is nearest to nothing, or the first step beyond."""
    start, end = lead(one), cast(int, lead(other))
    is_behind = end > 0
    turn = 0
    # A straight line is met in two turns; every third halves, so that a curve takes few too.
    while (value := _next(one, other, start if turn % 3 != 2 else None, end, step)) is not None:
        turn, left = turn + 1, lead(value)
        if left is None or (left and (left < 0) == is_behind):
            one, start = value, left
        else:
            other, end = value, left
    return other if is_whole or start is None or abs(end) <= abs(start) else one


def _next(one: Fraction, other: Fraction, start: int | None, end: int, step: Fraction) -> Fraction | None:
    """Where a straight line would cross, on the grid and strictly inside; half-way where there is no line to go by."""
    if start is None:
        return _between(one, other, step)
    guess = one + (other - one) * Fraction(start, start - end)
    value = math.floor(guess / step) * step
    return next((near for near in (value, value + step) if one < near < other), _between(one, other, step))
