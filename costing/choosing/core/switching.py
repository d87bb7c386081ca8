"""Switching values: the value of an uncertain input at which the other of two offers becomes the cheaper one.

They are solved, not scanned. A total is a straight line in every input of money or miles, apart from a kink where the
mileage allowance is used up, so that between two kinks one division finds the crossing. Months and weeks off move in
whole steps.
"""

import math
from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction
from functools import cache
from itertools import combinations, pairwise
from typing import NamedTuple

from costing.choosing.core.case import Case, Offer, Uncertain
from costing.choosing.core.cash_flow import items_of, total_of
from costing.choosing.core.inputs import INPUTS, base_of, bears_on, varied
from costing.choosing.core.payments import payments_a_year
from costing.choosing.core.ways_out import CannotBeHandedBack
from costing.core.catalogue.running import FUEL, REPAIRS
from costing.core.money import divide_half_up

#: Decimal places of a value: enough for the two totals to meet within a penny.
PLACES = 6
_STEP = Fraction(1, 10**PLACES)
#: How far an input may go if nobody has said: from this to that many times its planned value.
_RANGE = (Fraction(0), Fraction(3))
#: The inputs that are tried for every pair.
_USUAL = ("value_at_horizon", "miles_per_year", "payment", REPAIRS.key, "weeks_off", FUEL.key)
_MOST_MONTHS = 60


class Switch(NamedTuple):
    """Where the ``cheaper`` of two offers stops being cheaper; ``value`` is None if that's nowhere in range.

    For months and weeks it is the nearest value to the base at which the other one is cheaper. ``offer`` is empty, or
    names the offer whose input it is.
    """

    cheaper: str
    than: str
    input: str
    offer: str
    base: Fraction
    low: Fraction
    high: Fraction
    value: Fraction | None


class _Question(NamedTuple):
    """One input to try: the offer it belongs to, or "" for all, and how far it may go. The base is within that."""

    input: str
    offer: str
    base: Fraction
    low: Fraction
    high: Fraction


#: The total of a named offer, in pence, at one value of the input.
Totals = Callable[[str, Fraction], int]
#: By how many pence one offer leads the other at one value of the input.
Lead = Callable[[Fraction], int]


def switching_values(case: Case) -> list[Switch]:
    """The value at which the cheaper one changes, for each pair of offers and each uncertain input."""
    found = []
    questions = list(_questions(case))
    totals = {question: _totals(case, question) for question in questions}
    base = {offer.name: total_of(items_of(offer, case.scenario)) for offer in case.offers}
    for pair in combinations([offer.name for offer in case.offers], 2):
        cheaper, than = sorted(pair, key=lambda name: base[name])
        for question in questions:
            if question.offer in ("", *pair):
                value = _switch(case, question, totals[question], cheaper, than)
                found.append(Switch(cheaper, than, *question, value))
    return found


def _questions(case: Case) -> Iterator[_Question]:
    """What to try for every pair: the usual inputs, and those that the case itself calls uncertain."""
    own_ranges = {(one.input, one.offer): one for one in case.uncertain}
    names = dict.fromkeys([*_USUAL, *(one.input for one in case.uncertain), "months"])
    for name in names:
        owners = [o for o in case.offers if bears_on(name, o)] if INPUTS[name].of == "offer" else [None]
        for owner in owners:
            of_offer = owner.name if owner else ""
            base = base_of(case, name, owner)
            low, high = _range(case, name, base, own_ranges.get((name, of_offer)) or own_ranges.get((name, "")))
            if low < high:
                yield _Question(name, of_offer, base, low, high)


def _range(case: Case, name: str, base: Fraction, own: Uncertain | None) -> tuple[Fraction, Fraction]:
    if own is not None:
        return min(own.low, base), max(own.high, base)
    if name == "months":
        return Fraction(1), Fraction(max(_MOST_MONTHS, case.use.months))
    if name == "weeks_off":
        return Fraction(0), Fraction(int(case.use.weeks_taught_per_year * case.scenario.years))
    # A hundredth, not zero: a car that isn't driven has no cost a mile.
    least = base / 100 if name == "miles_per_year" else base * _RANGE[0]
    return least, base * _RANGE[1]


def _totals(case: Case, question: _Question) -> Totals:
    """A function that works out one offer at one value of the input. It raises CannotBeHandedBack."""
    by_name = {offer.name: index for index, offer in enumerate(case.offers)}

    @cache
    def total(name: str, value: Fraction) -> int:
        scenario, offers = varied(case, {(question.input, question.offer): value})
        return total_of(items_of(offers[by_name[name]], scenario))

    return total


def _switch(case: Case, question: _Question, totals: Totals, cheaper: str, than: str) -> Fraction | None:
    def lead(value: Fraction) -> int:
        """By how many pence the offer that is cheaper as planned leads. Raises CannotBeHandedBack."""
        return totals(than, value) - totals(cheaper, value)

    if INPUTS[question.input].is_whole:
        return _first_step(question, lead)
    kinks = _kinks(case, question)
    nodes = sorted({question.low, question.base, question.high, *kinks})
    return _nearest_crossing(question.base, nodes, lead)


def _first_step(question: _Question, lead: Lead) -> Fraction | None:
    """The whole value nearest to the base at which the lead is lost; of two as near, the lower one."""
    steps = map(Fraction, range(math.ceil(question.low), math.floor(question.high) + 1))
    nearest_first = sorted(steps, key=lambda step: (abs(step - question.base), step))
    return next((value for value in nearest_first if _is_lost(lead, value)), None)


def _is_lost(lead: Lead, value: Fraction) -> bool:
    """Whether the other offer is cheaper there; never where one of them can't be handed back so early."""
    try:
        return lead(value) < 0
    except CannotBeHandedBack:
        return False


def _kinks(case: Case, question: _Question) -> list[Fraction]:
    """The yearly miles at which an offer's allowance is used up."""
    if question.input != "miles_per_year":
        return []
    kinks = [_allowed_a_year(case, offer) for offer in case.offers if offer.mileage_allowance is not None]
    return [miles for miles in kinks if question.low < miles < question.high]


def _allowed_a_year(case: Case, offer: Offer) -> Fraction:
    years = case.scenario.years if offer.is_hire else Fraction(offer.payments, payments_a_year(offer))
    return (offer.mileage_allowance or Fraction(0)) * years / case.scenario.taught_years


def _nearest_crossing(base: Fraction, nodes: Sequence[Fraction], lead: Lead) -> Fraction | None:
    """Where the lead is lost nearest to the base; between two nodes it is a straight line."""
    crossings = (_crossing(one, other, lead) for one, other in pairwise(nodes))
    return min((value for value in crossings if value is not None), key=lambda v: abs(v - base), default=None)


def _crossing(one: Fraction, other: Fraction, lead: Lead) -> Fraction | None:
    """The value at which the lead changes sides between two nodes; None if it doesn't.

    A straight line through the nodes gives it, but each sum is rounded to pence. So the line is drawn again from the
    value found to the node beyond, until the two totals are within a penny.
    """
    start, end = lead(one), lead(other)
    if (start < 0) == (end < 0):
        return None
    while True:
        meeting = one + (other - one) * Fraction(start, start - end)
        value = min(max(one, divide_half_up(meeting, _STEP) * _STEP), other)
        left = lead(value)
        if abs(left) <= 1 or value in (one, other):
            return value
        if (left < 0) == (start < 0):
            one, start = value, left
        else:
            other, end = value, left
