"""What offers cost in many draws at once: the same items and ways out, on arrays with one value for each draw.

Ten thousand draws of eight offers one by one would take minutes. Draws that leave in the same month, after as many
weeks off, go through `payments`, `running` and `ways_out` together. Each sum is rounded where `payments` rounds it, and
a drawn sum of money is whole pence, so that every draw is a case which `figures` works out to the same penny; the tests
ask it.
Only this module and `odds` use numpy.
"""

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from typing import Any, NamedTuple, TypeVar, cast

import numpy as np
import numpy.typing as npt

from costing.choosing.core.case import Case, EarlyExit, Fuel, Offer, Running, WeeksOff, WhatIf
from costing.choosing.core.chances import Untold
from costing.choosing.core.course import Course, course_of
from costing.choosing.core.credit import MOST_PROTECTED_CREDIT, half_still_to_pay
from costing.choosing.core.figures import items_before_leaving
from costing.choosing.core.inputs import FUEL_PRICES, Place
from costing.choosing.core.payments import CashFlowItem, payments_made
from costing.choosing.core.value import curve
from costing.choosing.core.ways_out import VALUE, Exit, exits_of
from costing.core.catalogue.agreements import FINAL_PAYMENT, HALF_RULE, SETTLEMENT
from costing.core.catalogue.running import FUEL, INSURANCE

Floats = npt.NDArray[np.float64]
Places = npt.NDArray[np.intp]
#: One number for every draw, or the same for all.
Some = Any
Record = TypeVar("Record", bound=NamedTuple)

#: What decides how much is still owed.
_TERMS = ("price", "deposit", "payment", "fees", "final_payment")
#: An exact half may come out of floats a hair below.
_A_HAIR = 1e-7


class Drawn(NamedTuple):
    """The drawn value of each figure; for insurance one array a year. ``months`` and ``off`` are whole."""

    values: Mapping[Place, Sequence[Floats]]
    months: Floats
    off: Floats

    def at(self, places: Places) -> "Drawn":
        """Some of the draws."""
        values = {place: [array[places] for array in arrays] for place, arrays in self.values.items()}
        return Drawn(values, self.months[places], self.off[places])

    def of_offer(self, offer: Offer) -> dict[str, Floats]:
        """The drawn terms of an offer, by key."""
        fields = Offer._fields
        return {
            place.input: arrays[0]
            for place, arrays in self.values.items()
            if place.offer == offer.name and place.input in fields
        }


def totals(case: Case, drawn: Drawn) -> Floats:
    """The pence of each offer (rows) in each draw (columns). Raises Untold if a draw rests on what isn't told."""
    found = np.empty((len(case.offers), drawn.months.size))
    discounts = {offer.name: _discounts(offer, drawn) for offer in case.offers}
    for months, off, places in _groups(drawn):
        some = drawn.at(places)
        course = _course(case, some, months, off)
        for row, offer in enumerate(case.offers):
            discount = discounts[offer.name]
            one = _Drawing(case, offer, course, some, None if discount is None else discount[places])
            found[row, places] = one.total()
    return found


def pairs_drawn(drawn: Drawn) -> int:
    """How many different pairs of months and weeks off were drawn; each works every offer out again."""
    return np.unique(_pair(drawn)).size


def _pair(drawn: Drawn) -> Floats:
    return drawn.months * 1000 + drawn.off


def _groups(drawn: Drawn) -> Iterator[tuple[int, int, Places]]:
    """The draws that leave in the same month, after as many weeks off."""
    key = _pair(drawn)
    ordered = np.argsort(key, kind="stable")
    _, starts = np.unique(key[ordered], return_index=True)
    for places in np.split(ordered, starts[1:]):
        yield int(drawn.months[places[0]]), int(drawn.off[places[0]]), places


def _course(case: Case, drawn: Drawn, months: int, off: int) -> Course:
    course = course_of(case.use, months, WhatIf("", WeeksOff(1, off)))
    miles = drawn.values.get(Place("miles_per_year"), [float(case.use.miles_per_year)])[0]
    use = case.use._replace(miles_per_year=cast(Any, miles))
    return course._replace(use=use, taught=cast(Any, float(course.taught)))


class _Drawing:
    """One offer, on one course, in the draws that take it."""

    def __init__(self, case: Case, offer: Offer, course: Course, drawn: Drawn, discount: Floats | None) -> None:
        self.case, self.course, self.drawn, self.discount = case, course, drawn, discount
        #: As told, but for what the drawn terms of credit don't touch.
        self.told = offer
        changed: dict[str, Any] = drawn.of_offer(offer)
        self.offer = _in_floats(offer._replace(**changed))
        kept = {key: value for key, value in changed.items() if key not in _TERMS or offer.is_hire}
        # Without a value, the ways out leave what the car fetches to us.
        self.leaver = _in_floats(offer._replace(**{**kept, "value_at_horizon": None}))

    def total(self) -> Some:
        """The pence in each draw. Raises Untold."""
        before = items_before_leaving(_drawn_running(self.case, self.told, self.drawn), self.offer, self.course)
        return _sum(before) + self._way_out()

    def _way_out(self) -> Some:
        offer = self.told
        terms = self.drawn.of_offer(offer)
        if offer.is_credit and offer.half_rule is None and {"price", "deposit"} & {*terms}:
            may = [self._lowest(self.leaver._replace(half_rule=rule)) for rule in (True, False)]
            lent = np.asarray(self.offer.price) - np.asarray(self.offer.deposit)
            return np.where(lent <= MOST_PROTECTED_CREDIT, *may)
        return self._lowest(self.leaver)

    def _lowest(self, leaver: Offer) -> Some:
        """What the lowest open way costs in each draw. Raises Untold where that rests on an untold sum."""
        course = self.course
        if leaver.excess_pence_per_mile is None:
            # Miles without a rate cost nothing that is told, and are asked only whether there are any.
            most: Any = float(np.max(cast(Any, course.use.miles_per_year)))
            course = course._replace(use=course.use._replace(miles_per_year=most))
        open_ways = [one for one in exits_of(leaver, course) if one.is_open]
        sums = np.stack([np.broadcast_to(self._sum_of(one), self.drawn.months.shape) for one in open_ways])
        taken = sums.argmin(axis=0)
        for number, one in enumerate(open_ways):
            if {*one.untold} - {VALUE} and (taken == number).any():
                raise Untold(f"not everything that leaving {self.told.name} may cost is told")
        return sums.min(axis=0)

    def _sum_of(self, one: Exit) -> Some:
        total = _sum(self._with_terms(item) for item in one.items)
        return total - self._value() if VALUE in one.untold else total

    def _with_terms(self, item: CashFlowItem) -> CashFlowItem:
        """An item of a way out, with the drawn terms of the credit."""
        if item.part == HALF_RULE.name:
            return half_still_to_pay(self.offer, self.course)
        if item.part == FINAL_PAYMENT.name:
            return item._replace(amount=self.offer.final_payment)
        if item.part == SETTLEMENT.name and self.discount is not None:
            return item._replace(amount=self._owed())
        return item

    def _owed(self) -> Any:
        """The payments to come, worth what they are at the agreement's own rate."""
        v, rest = cast(Floats, self.discount), self.told.payments - payments_made(self.told, self.course)
        is_free = np.abs(1 - v) < 1e-9
        with np.errstate(divide="ignore", invalid="ignore"):
            each = np.where(is_free, float(rest), v * -np.expm1(rest * np.log(v)) / (1 - v))
        return self.offer.payment * each + self.offer.final_payment * v**rest

    def _value(self) -> Some:
        """What the car fetches when one leaves."""
        now = self.offer.price if self.offer.value_now is None else self.offer.value_now
        at_horizon, n = cast(Any, self.offer.value_at_horizon), self.case.use.months
        if self.course.months == n:
            return np.where(np.asarray(now) > 0, at_horizon, 0)
        with np.errstate(divide="ignore", invalid="ignore"):
            value = curve(np.asarray(now, dtype=float), at_horizon, self.course.months / n)
        return np.where(np.asarray(now) > 0, _half_up(np.maximum(0.0, value)), 0.0)


def _drawn_running(case: Case, offer: Offer, drawn: Drawn) -> Running:
    """The running costs of an offer: a draw of its own first, then its own figure, then a draw of the common one."""
    running, changed = case.running_of(offer), dict[str, Any]()
    for name in ("", offer.name):
        for place, arrays in drawn.values.items():
            key = FUEL.field if place.input in FUEL_PRICES.values() else place.input
            if place.offer != name or key not in Running._fields:
                continue
            if not name and getattr(offer.running, key) is not None:
                continue
            if key == FUEL.field:
                fuels = list(changed.get(key, running.fuel or ()))
                fuels[place.at] = fuels[place.at]._replace(price=arrays[0])
                changed[key] = tuple(fuels)
            else:
                changed[key] = tuple(arrays) if key == INSURANCE.field else arrays[0]
    return _in_floats(running._replace(**changed))


def _sum(items: Any) -> Some:
    return sum(_half_up(item.amount / item.over) * item.times for item in items)


def _half_up(value: Some) -> Some:
    """Whole pence, half up, away from nothing; exact where the value is."""
    value = np.asarray(value, dtype=float)
    return np.copysign(np.floor(np.abs(value) + 0.5 + _A_HAIR), value)


def _in_floats(record: Record) -> Record:
    """The record with its exact fractions as floats; arrays stay as they are."""
    return record._make(map(_as_float, record))


def _as_float(value: Any) -> Any:
    if isinstance(value, Fraction):
        return float(value)
    if isinstance(value, EarlyExit | Fuel):
        return _in_floats(value)
    if isinstance(value, tuple) and value and isinstance(value[0], Fuel):
        return tuple(_in_floats(one) for one in value)
    return value


def _discounts(offer: Offer, drawn: Drawn) -> Floats | None:
    """What a pound that is due one period later is worth, at the agreement's own rate, in each draw.

    None where the terms of the credit aren't drawn. If the payments come to no more than is lent, the rate is 0.
    """
    terms = drawn.of_offer(offer)
    if not offer.is_credit or not {*_TERMS} & {*terms}:
        return None
    size = drawn.months.size
    price, deposit, payment, fees, final = (
        terms.get(key, np.full(size, float(getattr(offer, key) or 0))) for key in _TERMS
    )
    lent = price - deposit
    is_repaid = (payment * offer.payments + fees + final > lent) & (lent > 0)
    # The present value rises and curves upward in v, so that Newton's steps from v = 1 come down to the root.
    v, step, left = np.ones(size), np.ones(size), _MOST_STEPS
    while left and (np.abs(step) > _FINE).any():
        value, slope = _present(v, payment, fees, final, offer.payments)
        step = np.where(is_repaid, (value - lent) / np.where(slope > 0, slope, 1), 0.0)
        v, left = v - step, left - 1
    return v


#: Newton's steps take about ten to come as near as this; floats may never come nearer.
_MOST_STEPS, _FINE = 60, 1e-15


def _present(v: Floats, payment: Floats, fees: Floats, final: Floats, count: int) -> tuple[Floats, Floats]:
    """The present value of all payments, and how fast it rises with v."""
    value, slope = np.zeros_like(v), np.zeros_like(v)
    for number in range(count, 0, -1):
        slope = slope * v + value
        value = value * v + payment + (fees if number == 1 else 0.0) + (final if number == count else 0.0)
    return value * v, slope * v + value
