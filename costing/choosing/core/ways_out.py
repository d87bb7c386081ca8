"""The ways out of an offer at the month in which one leaves, what each costs then, and which of them one takes."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from fractions import Fraction
from typing import Any, NamedTuple

from costing.choosing.core.case import Offer
from costing.choosing.core.course import Course, above_nothing, at_most, or_nothing
from costing.choosing.core.credit import half_still_to_pay, settlement, why_no_half_rule
from costing.choosing.core.payments import (
    CashFlowItem,
    ends_now,
    payments_left,
    payments_made,
    years_of_term,
)
from costing.choosing.core.value import value_at
from costing.core.catalogue.agreements import (
    DAMAGE,
    EARLY_EXIT,
    EXCESS_MILES,
    FINAL_PAYMENT,
    SETTLEMENT,
    VALUE_BACK,
    PaidBy,
    Way,
)

#: What the car will fetch, as a part that may be untold.
VALUE = "value"

_UNTOLD = {
    VALUE: "nobody has told what the car will fetch",
    DAMAGE.name: "nobody has told what damage will be charged",
    EXCESS_MILES.name: "nobody has told what a mile above the allowance costs",
    EARLY_EXIT.name: "nobody has told what leaving before the term ends costs",
}


class CannotBeHandedBack(ValueError):
    """The plan hands a PCP's car back before one leaves, so that there is no car for the rest of the time."""


class Exit(NamedTuple):
    """One way out, with what falls due then; a sum that is ``untold`` counts there as nothing.

    ``closed`` says why the law or the agreement gives no right to it. One that isn't closed may still not be
    ``is_open``, because the plan has settled on another.
    """

    way: Way
    items: tuple[CashFlowItem, ...] = ()
    untold: tuple[str, ...] = ()
    closed: str = ""
    is_open: bool = True

    @property
    def pence(self) -> int:
        """What it costs with its untold sums at nothing; below zero if money comes back."""
        return sum(item.total for item in self.items)

    @property
    def is_sale(self) -> bool:
        """Whether one has the car in the end, to sell or to keep, so that its value counts."""
        return self.way in ("sell", "settle", "keep")

    @property
    def reason(self) -> str:
        """Why it has no amount; empty if it has one."""
        return self.closed or ", and ".join(_UNTOLD[part] for part in self.untold)


def exits_of(offer: Offer, course: Course) -> tuple[Exit, ...]:
    """Every way out in the month in which one leaves; the first of equals is taken. Raises CannotBeHandedBack."""
    return tuple(_EXITS[offer.way.paid_by](offer, course))


def taken_of(exits: Sequence[Exit]) -> Exit:
    """The lowest of the open ways, with each untold sum at nothing."""
    return min((one for one in exits if one.is_open), key=lambda one: one.pence)


def most_above(exits: Sequence[Exit], taken: Exit, offer: Offer, course: Course) -> int | None:
    """By how many pence the untold sums of leaving may raise what is told; None if there is no bound."""
    charges = {*taken.untold} - {VALUE}
    if not charges:
        return 0  # a car that fetches nothing is what is told
    if charges == {EARLY_EXIT.name}:
        return offer.payment * payments_left(offer, course)
    others = [one.pence for one in exits if one.is_open and one is not taken]
    return min(others) - taken.pence if others else None


def _of_price(offer: Offer, course: Course) -> Iterator[Exit]:
    yield _sold("sell", offer, course)


def _of_credit(offer: Offer, course: Course) -> Iterator[Exit]:
    if payments_left(offer, course):
        yield from _inside_credit(offer, course)
    elif offer.way.has_choice_of_end and ends_now(offer, course):
        yield from _at_end_of_term(offer, course)
    elif offer.at_end == "hand_back":
        raise CannotBeHandedBack(
            f"is handed back after {offer.payments} {offer.frequency}s, which leaves no car for the rest of the "
            f"{course.months} months: keep it, sell it, or compare over a shorter time"
        )
    else:
        yield _sold("sell", offer, course)


def _inside_credit(offer: Offer, course: Course) -> Iterator[Exit]:
    closed = why_no_half_rule(offer)
    plan = "settle" if closed else offer.on_leaving
    owed = CashFlowItem(SETTLEMENT.name, settlement(offer, payments_made(offer, course)), (course.months,))
    yield _sold("settle", offer, course, owed, is_open=plan != "half_rule")
    if closed:
        yield Exit("half_rule", closed=closed, is_open=False)
    else:
        half = half_still_to_pay(offer, course)
        yield _going_back("half_rule", offer, course, half, years=course.years, is_open=plan != "settle")


def _at_end_of_term(offer: Offer, course: Course) -> Iterator[Exit]:
    final = CashFlowItem(FINAL_PAYMENT.name, offer.final_payment, (course.months,))
    yield _sold("sell", offer, course, final, is_open=offer.at_end in (None, "sell"))
    yield _sold("keep", offer, course, final, is_open=offer.at_end == "keep")
    is_open = offer.at_end in (None, "hand_back")
    yield _going_back("hand_back", offer, course, years=years_of_term(offer), is_open=is_open)


def _of_hire(offer: Offer, course: Course) -> Iterator[Exit]:
    if not payments_left(offer, course):
        yield _going_back("hand_back", offer, course, years=course.years)
        return
    charge = CashFlowItem(EARLY_EXIT.name, early_exit(offer, course), (course.months,))
    untold = () if offer.early_exit else (EARLY_EXIT.name,)
    yield _going_back("early_exit", offer, course, charge, years=course.years, untold=untold)


_EXITS: Mapping[PaidBy, Callable[[Offer, Course], Iterator[Exit]]] = {
    PaidBy.PRICE: _of_price,
    PaidBy.CREDIT: _of_credit,
    PaidBy.HIRE: _of_hire,
}


def _sold(way: Way, offer: Offer, course: Course, *owed: CashFlowItem, is_open: bool = True) -> Exit:
    value = value_at(offer, course)
    if value is None:
        return Exit(way, owed, (VALUE,), is_open=is_open)
    return Exit(way, (*owed, CashFlowItem(VALUE_BACK.name, -value, (course.months,))), is_open=is_open)


def _going_back(
    way: Way,
    offer: Offer,
    course: Course,
    *charged: CashFlowItem,
    years: Fraction,
    untold: tuple[str, ...] = (),
    is_open: bool = True,
) -> Exit:
    """The car goes back: its damage is charged, and the miles above the allowance of ``years``."""
    miles = excess_miles(offer, course, years)
    if offer.damage is None:
        untold = (*untold, DAMAGE.name)
    if offer.excess_pence_per_mile is None and miles > 0:
        untold = (*untold, EXCESS_MILES.name)
    items = (
        *charged,
        CashFlowItem(DAMAGE.name, or_nothing(offer.damage), (course.months,)),
        CashFlowItem(EXCESS_MILES.name, miles * or_nothing(offer.excess_pence_per_mile), (course.months,)),
    )
    return Exit(way, items, untold, is_open=is_open)


def excess_miles(offer: Offer, course: Course, years: Fraction) -> Fraction | int:
    """The miles above the allowance of ``years``; none without an allowance."""
    if offer.mileage_allowance is None:
        return 0
    allowed = offer.mileage_allowance * years.numerator / years.denominator
    return above_nothing(course.miles - allowed)


def early_exit(offer: Offer, course: Course) -> Any:
    """Pence for leaving a hire inside its term by its own rule, at most the payments to come; nothing if untold."""
    to_come = offer.payment * payments_left(offer, course)
    if offer.early_exit is None:
        return 0
    if offer.early_exit.kind == "share_of_remaining":
        charge = to_come * offer.early_exit.value
    else:
        charge = offer.payment * offer.early_exit.value
        charge = charge if offer.frequency == "week" else charge * 12 / 52
    return at_most(charge, to_come)
