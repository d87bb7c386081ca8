"""What ends an offer at the horizon: what comes back, and what is still to pay."""

from collections.abc import Callable, Iterator, Mapping
from fractions import Fraction
from functools import lru_cache

from costing.core.catalogue.agreements import DAMAGE, EARLY_EXIT, EXCESS_MILES, SETTLEMENT, VALUE_BACK, PaidBy
from costing.core.finance import balances, payment_flows, period_rate
from costing.core.offers.lines import Line
from costing.core.offers.payments import ends_inside, payment_count, payments_a_year
from costing.core.offers.terms import Offer, Scene
from costing.core.records import Agreement


class CannotBeHandedBack(ValueError):
    """A PCP that is handed back before the horizon leaves no car for the rest of it."""


def agreement_of(offer: Offer, scene: Scene) -> Agreement:
    """The credit or hire agreement that the offer would become."""
    return Agreement(
        scene.use.starts_on,
        offer.kind,
        offer.price,
        offer.deposit,
        offer.payment,
        offer.payments,
        offer.frequency,
        offer.final_payment,
        offer.fees,
    )


def exit_lines(offer: Offer, scene: Scene) -> Iterator[Line]:
    """What the last month brings besides its payment. Raises CannotBeHandedBack."""
    yield from _EXIT_LINES[offer.way.paid_by](offer, scene, (scene.months,))


def _sold(offer: Offer, scene: Scene, end: tuple[int]) -> Iterator[Line]:
    yield Line(VALUE_BACK.name, -offer.value_at_horizon, end)


def _of_credit(offer: Offer, scene: Scene, end: tuple[int]) -> Iterator[Line]:
    if not ends_inside(offer, scene):
        yield Line(SETTLEMENT.name, settlement(offer, scene), end)
    elif offer.way.has_choice_of_end and offer.at_end == "hand_back":
        _refuse_early_hand_back(offer, scene)
        yield Line(EXCESS_MILES.name, excess(offer, scene, Fraction(offer.payments, payments_a_year(offer))), end)
        yield Line(DAMAGE.name, offer.damage, end)
        return
    yield from _sold(offer, scene, end)


def _of_hire(offer: Offer, scene: Scene, end: tuple[int]) -> Iterator[Line]:
    yield Line(EXCESS_MILES.name, excess(offer, scene, scene.years), end)
    yield Line(DAMAGE.name, offer.damage, end)
    yield Line(EARLY_EXIT.name, _early_exit(offer, scene), end)


_EXIT_LINES: Mapping[PaidBy, Callable[[Offer, Scene, tuple[int]], Iterator[Line]]] = {
    PaidBy.PRICE: _sold,
    PaidBy.CREDIT: _of_credit,
    PaidBy.HIRE: _of_hire,
}


def excess(offer: Offer, scene: Scene, years: Fraction) -> Fraction | int:
    """Pence for the miles above what is allowed in ``years``; nothing where no allowance is set."""
    if offer.mileage_allowance is None:
        return 0
    over = scene.miles - offer.mileage_allowance * years
    # Half of |x| + x is x above nought and nothing below: the same for one figure and for many at once.
    return offer.excess_pence_per_mile * (abs(over) + over) / 2


def settlement(offer: Offer, scene: Scene) -> Fraction:
    """Pence still owed at the horizon: the payments to come, valued at the agreement's own period rate.

    Where no rate answers (nothing was lent), what is still to pay.
    """
    return Fraction(_owed(agreement_of(offer, scene))[payment_count(offer, scene)])


@lru_cache(maxsize=256)
def _owed(agreement: Agreement) -> list[float]:
    """Pence still owed at the start and after each payment."""
    flows = payment_flows(agreement)
    rate = period_rate((agreement.price or 0) - agreement.deposit, flows)
    return balances(rate or 0.0, flows)


def _early_exit(offer: Offer, scene: Scene) -> Fraction | int:
    """Pence for leaving a hire whose term runs past the horizon, by its own rule; nothing if it names none."""
    remaining = -payment_count(offer, scene) % offer.payments
    if not remaining or offer.early_exit is None:
        return 0
    if offer.early_exit.kind == "share_of_remaining":
        return offer.early_exit.value * remaining * offer.payment
    weeks = offer.early_exit.value
    return offer.payment * weeks / (1 if offer.frequency == "week" else scene.weeks_a_month)


def _refuse_early_hand_back(offer: Offer, scene: Scene) -> None:
    inside = scene.whole_weeks if offer.frequency == "week" else scene.months
    if offer.payments < inside:
        raise CannotBeHandedBack(
            f"is handed back after {offer.payments} {offer.frequency}s and leaves no car for the rest of the "
            f"{scene.months} months: keep or sell it, or compare over a shorter time"
        )
