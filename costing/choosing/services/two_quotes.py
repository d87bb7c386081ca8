"""Two quotes, a weekly rent and a car of one's own, as a case: what a stranger typed in a minute, and nothing else.

The figures are by field: pence, whole months, exact miles; None is what nobody has typed, which is never nothing.
"""

from collections.abc import Iterator, Mapping
from datetime import date
from fractions import Fraction
from typing import Any, NamedTuple

from costing.choosing.core.case import Case, Fuel, Offer, Running, Use
from costing.core.catalogue.agreements import HIRE_PURCHASE, OWNED, PCP, WEEKLY_RENTAL
from costing.core.catalogue.running import FUEL, RUNNING_PARTS
from costing.core.periods import month_of
from fleet.core.days import add_months

OWN, RENT = "Your own car", "Rented car"
#: What a weekly rent usually leaves out (common practice, no source), and so all that it is taken to leave out.
USUALLY_INCLUDED = frozenset(RUNNING_PARTS) - {FUEL.name}

Told = Mapping[str, Any]
_ONCE = ("deposit", "final_payment", "fees")
_OF_CREDIT = ("payment", "payments", *_ONCE)
#: Figures that are counted by the mile.
_BY_THE_MILE = ("own_fuel", "rent_fuel", "tyre_set", "mileage_allowance")


class Asked(NamedTuple):
    """The figure to type next, and why where that is not plain."""

    field: str
    why: str = ""


def is_credit(told: Told) -> bool:
    """Whether the car of one's own is paid for by instalments."""
    return any(told[name] for name in _OF_CREDIT)


def months_of(told: Told) -> int | None:
    """Over how many months to compare: as typed, else as long as the payments run."""
    months: int | None = told["months"] or (told["payments"] if is_credit(told) else None)
    return months


def is_left_early(told: Told) -> bool:
    """Whether the car is given up while its payments still run."""
    months = months_of(told)
    return is_credit(told) and bool(told["payments"] and months) and told["payments"] > (months or 0)


def asked_next(told: Told) -> Asked | None:
    """The first figure without which nothing can be said; None once something can."""
    return next(_asked(told), None)


def _asked(told: Told) -> Iterator[Asked]:
    if told["rent"] is None:
        yield Asked("rent")
    if is_credit(told):
        yield from (Asked(name) for name in ("payment", "payments") if told[name] is None)
    elif told["price"] is None:
        yield Asked("price", "Or its payment a month, and for how many months.")
    if months_of(told) is None:
        yield Asked("months")
    if is_left_early(told):
        yield from _asked_to_settle(told)
    yield from _asked_to_repay(told)
    if told["miles_per_year"] is None and any(told[name] for name in _BY_THE_MILE):
        yield Asked("miles_per_year", "Fuel, tyres and a limit of miles are counted by the mile.")


def _asked_to_settle(told: Told) -> Iterator[Asked]:
    """What is lent must be known to say what is owed before the last payment."""
    why = "You leave before the last payment. Without the cash price nobody can tell what settling early costs."
    if told["price"] is None:
        yield Asked("price", why)
    for name in ("deposit", "final_payment"):
        if told[name] is None:
            yield Asked(name, "You leave before the last payment: type 0 if there is none.")


def _asked_to_repay(told: Told) -> Iterator[Asked]:
    """All payments together repay at least the price."""
    if not is_credit(told) or told["price"] is None or None in (told["payment"], told["payments"]):
        return
    if _paid_in_all(told) >= told["price"]:
        return
    for name in ("final_payment", "deposit"):
        if told[name] is None:
            yield Asked(name, "Without it, all payments together are less than the price.")
            return
    yield Asked("payment", "All payments together are less than the price. Check them.")


def _paid_in_all(told: Told) -> int:
    """What the payments of the credit come to, as far as they are told, in pence."""
    once = sum(told[name] or 0 for name in _ONCE)
    return int(once + told["payment"] * told["payments"])


def open_sums(told: Told) -> tuple[str, ...]:
    """The sums of the credit that nobody has typed: they count as not told, like what running the car costs."""
    return tuple(name for name in _ONCE if is_credit(told) and told[name] is None)


def case_of(told: Told, today: date, nation: str) -> Case:
    """The case of the two quotes, the car of one's own first. Nothing may be asked any more (``asked_next``)."""
    months = months_of(told) or 0
    # Of the use only months and miles count here; no figure a lesson hour is shown.
    miles = told["miles_per_year"] or Fraction(1)
    nothing = Fraction(0)
    use = Use(starts_on(today), months, miles, nothing, Fraction(1), Fraction(1), 0, nation=nation)
    return Case(use, running_of(told), (own_offer(told), rent_offer(told, months)))


def starts_on(today: date) -> date:
    """The first of next month."""
    return add_months(month_of(today).first, 1)


def running_of(told: Told) -> Running:
    """What running either car costs where it is not included."""
    keys = [key for part in RUNNING_PARTS.values() if part is not FUEL for key in (part.key, part.life_key) if key]
    figures = {key: told[key] for key in keys}
    premium = figures.pop("insurance")
    return Running(insurance=None if premium is None else (premium,), **figures)


def own_offer(told: Told) -> Offer:
    """The car of one's own: bought at once, or with a final payment on PCP, or on hire purchase.

    Without a price, one is put in its place that no figure rests on once the payments are over.
    """
    common = {"value_at_horizon": told["value_at_horizon"], "running": _fuel(told["own_fuel"])}
    if not is_credit(told):
        return Offer(OWN, OWNED.name, price=told["price"], **common)
    terms = {name: told[name] or 0 for name in _OF_CREDIT}
    price = told["price"] if told["price"] is not None else max(_paid_in_all(told), 1)
    if not told["final_payment"]:
        return Offer(OWN, HIRE_PURCHASE.name, price=price, **terms, **common)
    end = {name: told[name] for name in ("mileage_allowance", "excess_pence_per_mile", "damage")}
    return Offer(OWN, PCP.name, price=price, **terms, **end, **common)


def rent_offer(told: Told, months: int) -> Offer:
    """The rented car, for just these months."""
    return Offer(
        RENT,
        WEEKLY_RENTAL.name,
        payment=told["rent"],
        payments=months * 52 // 12,
        frequency="week",
        damage=told["rent_damage"],
        includes=told["includes"],
        running=_fuel(told["rent_fuel"]),
    )


def _fuel(pence_a_mile: Fraction | None) -> Running:
    return Running(fuel=None if pence_a_mile is None else (Fuel(pence_a_mile),))
