"""The figures by which offers are compared, worked out from their cash flows."""

import math
from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple

from costing.choosing.core.case import Case, Offer, Scenario, WhatIf, scenario
from costing.choosing.core.cash_flow import CashFlow, cash_flow
from costing.choosing.core.ways_out import agreement_of
from costing.core.finance import annual_rate, payment_flows, period_rate
from costing.core.money import divide_half_up, to_places


class Dearest(NamedTuple):
    """The month in which most is paid, and how many pence; the first of several equals."""

    month: int
    pence: int


class Figures(NamedTuple):
    """One offer over the horizon, in pence. A figure that would be divided by nothing is None.

    ``hours_a_week`` is how many lesson hours a week go to pay for the car. ``apr`` is in per cent, and only for credit.
    """

    offer: Offer
    flow: CashFlow
    per_week: int
    per_mile: int | None
    per_lesson_hour: int | None
    dearest: Dearest
    hours_a_week: Decimal | None
    apr: Decimal | None
    present_value: int
    after_tax: int

    @property
    def total(self) -> int:
        return self.flow.total

    @property
    def up_front(self) -> int:
        return self.flow.months[0]


class ScenarioResult(NamedTuple):
    """Every offer in one scenario, in the order in which they were given."""

    name: str
    figures: tuple[Figures, ...]

    @property
    def ranking(self) -> tuple[str, ...]:
        """The offers' names, cheapest first; equals keep their order."""
        return tuple(one.offer.name for one in sorted(self.figures, key=lambda one: one.total))


def compare(case: Case) -> ScenarioResult:
    """Work out every offer as planned. Raises CannotBeHandedBack."""
    return ScenarioResult("", tuple(figures(offer, case.scenario) for offer in case.offers))


def what_if(case: Case, change: WhatIf) -> ScenarioResult:
    """Work out every offer if ``change`` happens. Raises CannotBeHandedBack."""
    use = case.use._replace(miles_per_year=case.use.miles_per_year * (1 + change.more_miles))
    running = case.running._replace(one_repair=case.running.one_repair + change.one_repair)
    changed = scenario(use, running, off=change.off, leave_at_month=change.leave_at_month)
    offers = case.offers if change.damage is None else [o._replace(damage=change.damage) for o in case.offers]
    return ScenarioResult(change.name, tuple(figures(offer, changed) for offer in offers))


def figures(offer: Offer, scenario: Scenario) -> Figures:
    """Work out one offer. Raises CannotBeHandedBack."""
    flow, use = cash_flow(offer, scenario), scenario.use
    total = flow.total
    month = max(range(len(flow.months)), key=lambda k: flow.months[k])
    weekly_price = use.lesson_hour_price * use.weeks_taught_per_year * scenario.years
    after_tax = total * (1 - use.marginal_tax_rate * use.business_share)
    return Figures(
        offer,
        flow,
        per_week=divide_half_up(total, scenario.months * scenario.weeks_a_month),
        per_mile=divide_half_up(total, scenario.miles) if scenario.miles else None,
        per_lesson_hour=divide_half_up(total, scenario.lesson_hours) if scenario.lesson_hours else None,
        dearest=Dearest(month, flow.months[month]),
        hours_a_week=to_places(total / weekly_price, 2) if weekly_price else None,
        apr=annual_percentage_rate(offer, scenario),
        present_value=present_value(flow, use.discount_rate),
        after_tax=divide_half_up(after_tax, 1),
    )


def annual_percentage_rate(offer: Offer, scenario: Scenario) -> Decimal | None:
    """The APR in per cent, to one decimal, half up, worked out from what is paid. None where nothing is lent.

    Directive 2008/48/EC, Annex I: a year has 12 standard months, or 52 weeks.
    """
    if not offer.is_credit:
        return None
    rate = period_rate(offer.price - offer.deposit, payment_flows(agreement_of(offer, scenario)))
    yearly = None if rate is None else annual_rate(rate, offer.frequency)
    return None if yearly is None or math.isinf(yearly) else to_places(Fraction(yearly) * 100, 1)


def present_value(flow: CashFlow, yearly: Fraction) -> int:
    """The whole flow in today's pence, at a yearly discount rate."""
    if not yearly:
        return flow.total
    monthly = math.pow(1 + yearly, 1 / 12)
    return divide_half_up(Fraction(math.fsum(pence / monthly**k for k, pence in enumerate(flow.months))), 1)
