"""The figures by which offers are compared, worked out from their cash flows."""

import math
from collections.abc import Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
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


class Figures(NamedTuple):
    """One offer over ``months``, in pence. None is what can't be said, because something isn't told.

    ``not_told`` and ``assumed`` name parts and keys. ``most_above`` is how much the untold sums of leaving may come to,
    None without a bound; ``if_sold`` is what is told if the car is sold and fetches nothing, where its value isn't
    told. ``expected`` is the total to expect over the chances of leaving, only as planned, and None without any chance
    or where a total isn't known. ``hours_a_week`` is how many lesson hours a week go to pay for the car; ``apr`` is in
    per cent, and only for credit.
    """

    offer: Offer
    months: int
    flow: CashFlow
    not_told: tuple[str, ...]
    assumed: tuple[str, ...]
    ways_out: tuple[WayOut, ...]
    most_above: int | None
    if_sold: int
    per_week: int | None
    per_mile: int | None
    per_lesson_hour: int | None
    up_front: int | None
    dearest: MonthSum | None
    hours_a_week: Decimal | None
    apr: Decimal | None
    present_value: int | None
    after_tax: int | None
    lowest_purse: MonthSum | None
    expected: int | None

    @property
    def told(self) -> int:
        """What is told, which is the total only if nothing is left out."""
        return self.flow.total

    @property
    def total(self) -> int | None:
        """What the car costs in all; None if anything isn't told."""
        return None if self.not_told else self.told

    @property
    def way_out(self) -> Way:
        """The way by which one leaves."""
        return next(one.way for one in self.ways_out if one.is_taken)

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
        return None if self.most_above is None else self.told + self.most_above


def figures(case: Case, offer: Offer, *, months: int | None = None, what_if: WhatIf | None = None) -> Figures:
    """Work out one offer of a case: as planned, left after ``months``, or if something happens.

    Raises CannotBeHandedBack.
    """
    course, running = course_of(case.use, months, what_if), case.running_of(offer)
    if what_if and what_if.damage is not None:
        offer = offer._replace(damage=what_if.damage)
    exits = exits_of(offer, course)
    taken = taken_of(exits)
    flow = place([*items_before_leaving(running, offer, course), *taken.items], course.months)
    not_told = not_told_of(running, offer, course, exits, taken)
    assumed = assumed_of(running, offer, course, exits)
    total = None if not_told else flow.total
    expected = None
    if months is None and what_if is None:
        chances = _chances(case.use)
        early = {month: figures(case, offer, months=month) for month in chances}
        expected = _expected(chances, [one.total for one in early.values()], total) if case.use.leaving else None
        if expected is not None:
            # It rests on what is assumed where one leaves early.
            assumed = assumed.union(*(one.assumed for one in early.values()))
    sold = next((one for one in exits if one.is_open and one.is_sale), taken)
    return Figures(
        offer,
        course.months,
        flow,
        not_told,
        assumed=tuple(key for key in ASSUMED if key in assumed),
        ways_out=tuple(_way_out(one, is_taken=one is taken) for one in exits),
        most_above=most_above(exits, taken, offer, course),
        if_sold=flow.total - taken.pence + sold.pence,
        per_week=_over(total, course.months * 52, 12),
        per_mile=_over(total, course.miles),
        per_lesson_hour=_over(total, course.lesson_hours),
        up_front=None if UP_FRONT & {*not_told} else flow.months[0],
        dearest=None if {*not_told} - {VALUE} else _dearest(flow),
        hours_a_week=_hours_a_week(total, course),
        apr=annual_percentage_rate(offer),
        present_value=None if total is None else present_value(flow, case.use.discount_rate),
        after_tax=None if total is None else _after_tax(total, course),
        lowest_purse=None if total is None else _lowest_purse(flow, case.use),
        expected=expected,
    )


def items_before_leaving(running: Running, offer: Offer, course: Course) -> list[CashFlowItem]:
    """Every told item of an offer but its way out: what is paid for the car, running it, and what is given back."""
    return [
        *payment_items(offer, course),
        *running_items(running, offer, course),
        *given_back(running, offer, course),
    ]


def _expected(chances: Mapping[int, Fraction], early: Sequence[int | None], planned: int | None) -> int | None:
    """The pence to expect, from the total of each early end and of the planned one; None where one isn't known."""
    stays = 1 - sum(chances.values())
    weighed = [*zip(chances.values(), early, strict=True), *([(stays, planned)] if stays else [])]
    known = [chance * total for chance, total in weighed if total is not None]
    return divide_half_up(sum(known, Fraction(0)), 1) if len(known) == len(weighed) else None


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


def _dearest(flow: CashFlow) -> MonthSum:
    """The month in which most is paid; the first of several equals."""
    month = max(range(len(flow.months)), key=lambda k: flow.months[k])
    return MonthSum(month, flow.months[month])


def _hours_a_week(total: int | None, course: Course) -> Decimal | None:
    """How many lesson hours a taught week go to pay for the car."""
    earned = course.use.lesson_hour_price * course.use.weeks_taught_per_year * course.years
    return to_places(total / earned, 2) if earned and total is not None else None


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


def _after_tax(total: int, course: Course) -> int:
    """A whole-life view, in which every cost of the car is relieved in the end."""
    return divide_half_up(total * (1 - course.use.marginal_tax_rate * course.business_share), 1)


def _lowest_purse(flow: CashFlow, use: Use) -> MonthSum | None:
    """The first month in which least is left of cash in hand and what is put by; None unless both are told."""
    if use.cash_in_hand is None or use.put_by_per_month is None:
        return None
    paid = accumulate(flow.months)
    left = [use.cash_in_hand + use.put_by_per_month * month - gone for month, gone in enumerate(paid)]
    lowest = min(left)
    return MonthSum(left.index(lowest), lowest)
