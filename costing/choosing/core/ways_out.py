"""How an offer ends at the horizon: what comes back, and what is still to pay."""

from collections.abc import Callable, Iterator, Mapping
from fractions import Fraction
from functools import lru_cache

from costing.choosing.core.case import Offer, Scenario
from costing.choosing.core.payments import CashFlowItem, ends_inside, payment_count, payments_a_year
from costing.core.catalogue.agreements import DAMAGE, EARLY_EXIT, EXCESS_MILES, SETTLEMENT, VALUE_BACK, PaidBy
from costing.core.finance import balances, payment_flows, period_rate
from costing.core.records import Agreement


class CannotBeHandedBack(ValueError):
    """The plan hands a PCP car back before the horizon, which leaves no car for the rest of the time."""


def agreement_of(offer: Offer, scenario: Scenario) -> Agreement:
    """The agreement that the offer would become."""
    return Agreement(
        scenario.use.starts_on,
        offer.kind,
        offer.price,
        offer.deposit,
        offer.payment,
        offer.payments,
        offer.frequency,
        offer.final_payment,
        offer.fees,
    )


def exit_items(offer: Offer, scenario: Scenario) -> Iterator[CashFlowItem]:
    """What the last month brings besides its payment. Raises CannotBeHandedBack."""
    yield from _EXIT_ITEMS[offer.way.paid_by](offer, scenario, (scenario.months,))


def _sold(offer: Offer, scenario: Scenario, end: tuple[int]) -> Iterator[CashFlowItem]:
    yield CashFlowItem(VALUE_BACK.name, -offer.value_at_horizon, end)


def _of_credit(offer: Offer, scenario: Scenario, end: tuple[int]) -> Iterator[CashFlowItem]:
    if not ends_inside(offer, scenario):
        yield CashFlowItem(SETTLEMENT.name, settlement(offer, scenario), end)
    elif offer.way.has_choice_of_end and offer.at_end == "hand_back":
        _refuse_early_hand_back(offer, scenario)
        yield CashFlowItem(
            EXCESS_MILES.name, excess(offer, scenario, Fraction(offer.payments, payments_a_year(offer))), end
        )
        yield CashFlowItem(DAMAGE.name, offer.damage, end)
        return
    yield from _sold(offer, scenario, end)


def _of_hire(offer: Offer, scenario: Scenario, end: tuple[int]) -> Iterator[CashFlowItem]:
    yield CashFlowItem(EXCESS_MILES.name, excess(offer, scenario, scenario.years), end)
    yield CashFlowItem(DAMAGE.name, offer.damage, end)
    yield CashFlowItem(EARLY_EXIT.name, _early_exit(offer, scenario), end)


_EXIT_ITEMS: Mapping[PaidBy, Callable[[Offer, Scenario, tuple[int]], Iterator[CashFlowItem]]] = {
    PaidBy.PRICE: _sold,
    PaidBy.CREDIT: _of_credit,
    PaidBy.HIRE: _of_hire,
}


def excess(offer: Offer, scenario: Scenario, years: Fraction) -> Fraction | int:
    """Pence charged for miles above the allowance of ``years``; nothing without an allowance."""
    if offer.mileage_allowance is None:
        return 0
    over = scenario.miles - offer.mileage_allowance * years
    # Half of |x| + x is x above zero and nothing below. It works on one figure and on an array alike.
    return offer.excess_pence_per_mile * (abs(over) + over) / 2


def settlement(offer: Offer, scenario: Scenario) -> Fraction:
    """Pence still owed at the horizon: the payments to come, valued at the agreement's own rate.

    If no rate fits, because nothing was lent, it is simply what is still to pay.
    """
    return Fraction(_owed(agreement_of(offer, scenario))[payment_count(offer, scenario)])


@lru_cache(maxsize=256)
def _owed(agreement: Agreement) -> list[float]:
    """Pence owed at the start and after each payment."""
    flows = payment_flows(agreement)
    rate = period_rate((agreement.price or 0) - agreement.deposit, flows)
    return balances(rate or 0.0, flows)


def _early_exit(offer: Offer, scenario: Scenario) -> Fraction | int:
    """Pence for leaving a hire before its term ends, by its own rule; nothing if it has no rule."""
    remaining = -payment_count(offer, scenario) % offer.payments
    if not remaining or offer.early_exit is None:
        return 0
    if offer.early_exit.kind == "share_of_remaining":
        return offer.early_exit.value * remaining * offer.payment
    weeks = offer.early_exit.value
    return offer.payment * weeks / (1 if offer.frequency == "week" else scenario.weeks_a_month)


def _refuse_early_hand_back(offer: Offer, scenario: Scenario) -> None:
    inside = scenario.whole_weeks if offer.frequency == "week" else scenario.months
    if offer.payments < inside:
        raise CannotBeHandedBack(
            f"is handed back after {offer.payments} {offer.frequency}s, which leaves no car for the rest of the "
            f"{scenario.months} months: keep it, sell it, or compare over a shorter time"
        )
