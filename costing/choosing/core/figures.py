"""The figures by which offers are compared, worked out from their cash flows."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import cached_property
from itertools import accumulate
from typing import NamedTuple

from costing.choosing.core.case import Case, Offer, Running, Use, WhatIf
from costing.choosing.core.course import Course, course_of
from costing.choosing.core.credit import rate_of, terms_of
from costing.choosing.core.not_told import ASSUMED, UP_FRONT, assumed_of, not_told_of
from costing.choosing.core.payments import CashFlow, CashFlowItem, payment_items, place
from costing.choosing.core.running import given_back, running_items
from costing.choosing.core.ways_out import VALUE, Exit, exits_of, most_above, taken_of
from costing.core.catalogue.agreements import EXCESS_MILES, Way
from costing.core.catalogue.running import RUNNING_PARTS
from costing.core.finance import annual_rate
from costing.core.money import divide_half_up, to_places


class WayOut(NamedTuple):
    """One way of leaving the car at month m, for ``pence`` then; below zero if money comes back.

    Where there is no amount, ``reason`` says why. ``disputed`` is the charge for extra miles inside the half rule's
    amount, which a lender may not be owed.
    """

    way: Way
    pence: int | None
    reason: str = ""
    is_taken: bool = False
    disputed: int = 0


class MonthSum(NamedTuple):
    """The pence of one month."""

    month: int
    pence: int


@dataclass(frozen=True)
class Figures:
    """One offer of a case on one course, in pence. None is what can't be said, because something isn't told.

    ``exits`` are all ways of leaving then. ``early`` is the same offer in each month in which one may leave, only as
    planned and where there are chances of leaving. A picture asks hundreds of these for one figure each, so a figure is
    worked out when it is first asked for.
    """

    case: Case
    offer: Offer
    course: Course
    exits: tuple[Exit, ...]
    early: tuple["Figures", ...] | None = None

    @property
    def months(self) -> int:
        """The months until one leaves."""
        return self.course.months

    @cached_property
    def _running(self) -> Running:
        return self.case.running_of(self.offer)

    @cached_property
    def taken(self) -> Exit:
        """The way by which one leaves, with what falls due then."""
        return taken_of(self.exits)

    @property
    def way_out(self) -> Way:
        """The way by which one leaves."""
        return self.taken.way

    @cached_property
    def ways_out(self) -> tuple[WayOut, ...]:
        """Every way of leaving, with its pence."""
        return tuple(_way_out(one, is_taken=one is self.taken) for one in self.exits)

    @property
    def _items(self) -> list[CashFlowItem]:
        # Not kept: a thousand figures live as long as their report, and with their items the collector stops for all.
        return [*items_before_leaving(self._running, self.offer, self.course), *self.taken.items]

    @cached_property
    def flow(self) -> CashFlow:
        """What is told, by month and by part."""
        return place(self._items, self.months)

    @cached_property
    def told(self) -> int:
        """What is told, which is the total only if nothing is left out."""
        return sum(item.total for item in self._items)

    @cached_property
    def not_told(self) -> tuple[str, ...]:
        """The parts that apply and have no figure."""
        return not_told_of(self._running, self.offer, self.course, self.exits, self.taken)

    @property
    def total(self) -> int | None:
        """What the car costs in all; None if anything isn't told."""
        return None if self.not_told else self.told

    @cached_property
    def assumed(self) -> tuple[str, ...]:
        """The keys in whose place something is assumed, also where ``expected`` rests on it."""
        keys = assumed_of(self._running, self.offer, self.course, self.exits)
        if self.expected is not None:
            keys = keys.union(*(one.assumed for one in self.early or ()))
        return tuple(key for key in ASSUMED if key in keys)

    @property
    def most_above(self) -> int | None:
        """How much the untold sums of leaving may come to; None without a bound."""
        return most_above(self.exits, self.taken, self.offer, self.course)

    @property
    def if_sold(self) -> int:
        """What is told if the car is sold and fetches nothing, where its value isn't told."""
        sold = next((one for one in self.exits if one.is_open and one.is_sale), self.taken)
        return self.told - self.taken.pence + sold.pence

    @property
    def at_least(self) -> int | None:
        """The least that the car may cost, whatever isn't told; None if it may fetch any sum."""
        return None if VALUE in self.not_told else self.told

    @property
    def at_most(self) -> int | None:
        """The most that the car may cost, whatever isn't told; None if there is no bound."""
        return self.at_most_without(())

    def at_most_without(self, left_out: Sequence[str]) -> int | None:
        """The most that it may cost where some untold parts are left out."""
        if any(part in RUNNING_PARTS and part not in left_out for part in self.not_told):
            return None
        above = self.most_above
        return None if above is None else self.told + above

    @property
    def per_week(self) -> int | None:
        """The total over the weeks, at 52 a year."""
        return _over(self.total, self.months * 52, 12)

    @property
    def per_mile(self) -> int | None:
        """The total over the miles driven."""
        return _over(self.total, self.course.miles)

    @property
    def per_lesson_hour(self) -> int | None:
        """The total over the hours of lessons given."""
        return _over(self.total, self.course.lesson_hours)

    @property
    def up_front(self) -> int | None:
        """What is paid at the start."""
        return None if UP_FRONT & {*self.not_told} else self.flow.months[0]

    @property
    def dearest(self) -> MonthSum | None:
        """The month in which most is paid; the first of several equals."""
        if {*self.not_told} - {VALUE}:
            return None
        pence = max(self.flow.months)
        return MonthSum(self.flow.months.index(pence), pence)

    @property
    def hours_a_week(self) -> Decimal | None:
        """How many lesson hours of a taught week go to pay for the car."""
        use, total = self.course.use, self.total
        earned = use.lesson_hour_price * use.weeks_taught_per_year * self.course.years
        return to_places(total / earned, 2) if earned and total is not None else None

    @property
    def apr(self) -> Decimal | None:
        """In per cent, and only for credit."""
        return annual_percentage_rate(self.offer)

    @cached_property
    def present_value(self) -> int | None:
        """The total in today's pence."""
        return None if self.total is None else present_value(self.flow, self.case.use.discount_rate)

    @property
    def after_tax(self) -> int | None:
        """The total in a whole-life view, in which every cost of the car is relieved in the end."""
        if self.total is None:
            return None
        return divide_half_up(self.total * (1 - self.course.use.marginal_tax_rate * self.course.business_share), 1)

    @cached_property
    def lowest_purse(self) -> MonthSum | None:
        """The month in which least is left in the purse."""
        return None if self.total is None else _lowest_purse(self.flow, self.case.use)

    @cached_property
    def expected(self) -> int | None:
        """The total to expect over the chances of leaving; None without any, or where a total isn't known."""
        if self.early is None:
            return None
        chances = _chances(self.case.use)
        stays = 1 - sum(chances.values())
        early = [(chance, one.total) for chance, one in zip(chances.values(), self.early, strict=True)]
        weighed = [*early, *([(stays, self.total)] if stays else [])]
        known = [chance * total for chance, total in weighed if total is not None]
        return divide_half_up(sum(known, Fraction(0)), 1) if len(known) == len(weighed) else None


def figures(case: Case, offer: Offer, *, months: int | None = None, what_if: WhatIf | None = None) -> Figures:
    """One offer of a case: as planned, left after ``months``, or if something happens. Raises CannotBeHandedBack."""
    course = course_of(case.use, months, what_if)
    if what_if and what_if.damage is not None:
        offer = offer._replace(damage=what_if.damage)
    early = None
    if case.use.leaving and months is None and what_if is None:
        early = tuple(figures(case, offer, months=month) for month in _chances(case.use))
    return Figures(case, offer, course, exits_of(offer, course), early)


def items_before_leaving(running: Running, offer: Offer, course: Course) -> list[CashFlowItem]:
    """Every told item of an offer but its way out: what is paid for the car, running it, and what is given back."""
    return [
        *payment_items(offer, course),
        *running_items(running, offer, course),
        *given_back(running, offer, course),
    ]


def takings_lost(use: Use, what_if: WhatIf) -> int | None:
    """Pence of lessons not given in the weeks off, as far as they lie before one leaves; None without weeks off."""
    if what_if.off is None:
        return None
    weeks = len(course_of(use, what_if=what_if).weeks_off)
    return divide_half_up(weeks * use.lesson_hours_per_week * use.lesson_hour_price, 1)


def _chances(use: Use) -> dict[int, Fraction]:
    """The months in which one may leave before the horizon, with their chances."""
    return {one.month: one.chance for one in use.leaving if one.chance}


def _way_out(one: Exit, *, is_taken: bool) -> WayOut:
    if one.reason:
        return WayOut(one.way, None, one.reason, is_taken)
    disputed = sum(item.total for item in one.items if one.way == "half_rule" and item.part == EXCESS_MILES.name)
    return WayOut(one.way, one.pence, "", is_taken, disputed)


def _over(total: int | None, count: Fraction | int, parts: int = 1) -> int | None:
    """Pence for each of ``count`` / ``parts``; None if there is no total, or nothing to share it over."""
    return None if total is None or not count else divide_half_up(total * parts, count)


def annual_percentage_rate(offer: Offer) -> Decimal | None:
    """The APR in per cent, to one decimal, half up, worked out from what is paid. None where nothing is lent.

    Directive 2008/48/EC, Annex I: a year has 12 standard months, or 52 weeks.
    """
    if not offer.is_credit:
        return None
    rate = rate_of(terms_of(offer))
    yearly = None if rate is None else annual_rate(rate, offer.frequency)
    if yearly is None or math.isinf(yearly):
        return None
    # A half that the arithmetic of floats leaves a hair short is a half again at nine places.
    return to_places(to_places(Fraction(yearly) * 100, 9), 1)


def present_value(flow: CashFlow, yearly: Fraction) -> int:
    """The whole flow in today's pence, at a yearly discount rate."""
    if not yearly:
        return flow.total
    monthly = math.pow(1 + yearly, 1 / 12)
    return divide_half_up(Fraction(math.fsum(pence / monthly**k for k, pence in enumerate(flow.months))), 1)


def _lowest_purse(flow: CashFlow, use: Use) -> MonthSum | None:
    """The first month in which least is left of cash in hand and what is put by; None unless both are told."""
    if use.cash_in_hand is None or use.put_by_per_month is None:
        return None
    paid = accumulate(flow.months)
    left = [use.cash_in_hand + use.put_by_per_month * month - gone for month, gone in enumerate(paid)]
    lowest = min(left)
    return MonthSum(left.index(lowest), lowest)
