"""Two quotes, a weekly rent and a car of one's own, as a case: what a stranger typed in a minute, and nothing else.

The figures are by field: pence, whole months, exact miles; None is what nobody has typed, which is never nothing.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import date
from fractions import Fraction
from typing import Any, NamedTuple

from config.showing import month
from costing.choosing.core.case import Case
from costing.choosing.document.checks import checked
from costing.choosing.document.schema import Tables
from costing.choosing.document.tables import case_made_of
from costing.choosing.services.comparisons import start_comparison
from costing.choosing.services.own_records import typed_figure
from costing.choosing.services.starting_figures import TYPED, from_group, use_of_records
from costing.choosing.services.stored import NewOffer
from costing.core.catalogue.agreements import HIRE_PURCHASE, OWNED, PCP, WEEKLY_RENTAL
from costing.core.catalogue.running import FUEL, INSURANCE, RUNNING_PARTS, TYRES
from costing.core.periods import month_of
from costing.models import Comparison
from costing.queries import RunningFigures
from fleet.core.days import add_months
from instructors.models import Member

OWN, RENT = "Your own car", "Rented car"
#: What a weekly rent usually leaves out (common practice, no source), and so all that it is taken to leave out.
USUALLY_INCLUDED = frozenset(RUNNING_PARTS) - {FUEL.name}

Told = Mapping[str, Any]
_ONCE = ("deposit", "final_payment", "fees")
_OF_A_CAR = ("price", "value_at_horizon")
_OF_THE_END = ("mileage_allowance", "excess_pence_per_mile", "damage")
#: How the car is used, beside for how long; a stranger need not say more of it than the miles.
_OF_USE = (
    "miles_per_year",
    "private_miles_per_year",
    "lesson_hours_per_week",
    "weeks_taught_per_year",
    "lesson_hour_price",
)
_OF_CREDIT = ("payment", "payments", *_ONCE)
#: Figures that are counted by the mile.
_BY_THE_MILE = ("own_fuel", "rent_fuel", TYRES.key, "mileage_allowance")


class Asked(NamedTuple):
    """The figure to type next, and why where that is not plain."""

    field: str
    why: str = ""


#: Which figures something needs that are not typed, all at once; none if it needs no more.
Needs = Callable[[Told], tuple[Asked, ...]]


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
    if told["payment"] == 0:
        yield Asked("payment", "Payments of nothing repay nothing.")
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


def nothing_more(told: Told) -> tuple[Asked, ...]:
    """What an answer needs besides: nothing."""
    return ()


def asked_to_keep(told: Told) -> tuple[Asked, ...]:
    """What a comparison that is kept needs besides: of a credit its price, and each sum that is paid once.

    One may leave a credit inside its term, and a document counts a deposit, final payment or fee that it lacks as
    nothing.
    """
    if not is_credit(told):
        return ()
    price = Asked("price", "To keep it, type the cash price too: what is owed on leaving early follows from it.")
    once = [Asked(name, "To keep it, type 0 here if there is none.") for name in _ONCE]
    return tuple(one for one in (price, *once) if told[one.field] is None)


def asked_for_file(told: Told) -> tuple[Asked, ...]:
    """What a file needs besides, which is read without a book to ask for how one teaches."""
    why = "A file needs this too, for the cost of a lesson hour."
    return (*asked_to_keep(told), *(Asked(name, why) for name in _OF_USE if told[name] is None))


def open_sums(told: Told) -> tuple[str, ...]:
    """The sums of the credit that nobody has typed: they count as not told, like what running the car costs."""
    return tuple(name for name in _ONCE if is_credit(told) and told[name] is None)


def tables_of(told: Told, today: date) -> Tables:
    """The document of the two quotes, the car of one's own first, with nothing in it that was not typed.

    Only the kinds, the first of next month, and the months for which one rents follow from what was typed.
    """
    use = {"starts_on": add_months(month_of(today).first, 1), "months": months_of(told)}
    use |= _told_of(told, _OF_USE)
    return {
        "use": use,
        "running": _running_of(told),
        "offer": [_own_offer(told), _rent_offer(told)],
        "what_if": [],
        "uncertain": [],
    }


def case_of(told: Told, today: date, nation: str) -> Case:
    """The case of the two quotes. Nothing may be asked any more (``asked_next``).

    Where they say nothing of how the car is used, or of the price of a car whose payments run out before one leaves it,
    a figure stands in its place on which no total rests.
    """
    tables = tables_of(told, today)
    own, rent = tables["offer"]
    if is_credit(told) and told["price"] is None:
        own = {**own, "price": max(_paid_in_all(told), 1)}
    use = {**dict.fromkeys(_OF_USE, Fraction(1)), **tables["use"], "lesson_hour_price": 0}
    if told["miles_per_year"] is None or told["private_miles_per_year"] is None:
        use["private_miles_per_year"] = Fraction(0)
    return case_made_of(checked({**tables, "use": use, "offer": [own, rent]}), nation)


def _told_of(told: Told, names: Iterable[str]) -> dict[str, Any]:
    return {name: told[name] for name in names if told.get(name) is not None}


def _running_of(told: Told) -> dict[str, Any]:
    """What running either car costs where it is not included."""
    parts = [part for part in RUNNING_PARTS.values() if part is not FUEL]
    running = _told_of(told, [key for part in parts for key in (part.key, part.life_key) if key])
    if INSURANCE.key in running:
        running[INSURANCE.key] = (running[INSURANCE.key],)
    return running


def _own_offer(told: Told) -> dict[str, Any]:
    """The car of one's own: on PCP if there is a final payment, else on hire purchase, or bought at once."""
    if not is_credit(told):
        return {"name": OWN, "kind": OWNED.name, **_told_of(told, _OF_A_CAR), **_fuel(told["own_fuel"])}
    kind, end = (PCP, _OF_THE_END) if told["final_payment"] else (HIRE_PURCHASE, ())
    terms = _told_of(told, (*_OF_A_CAR, *_OF_CREDIT, *end))
    return {"name": OWN, "kind": kind.name, **terms, **_fuel(told["own_fuel"])}


def _rent_offer(told: Told) -> dict[str, Any]:
    """The rented car, for just these months."""
    damage = {} if told["rent_damage"] is None else {"damage": told["rent_damage"]}
    return {
        "name": RENT,
        "kind": WEEKLY_RENTAL.name,
        "payment": told["rent"],
        "payments": (months_of(told) or 0) * 52 // 12,
        "includes": told["includes"],
        **damage,
        **_fuel(told["rent_fuel"]),
    }


def _fuel(pence_a_mile: Fraction | None) -> dict[str, Any]:
    return {} if pence_a_mile is None else {"running": {FUEL.key: pence_a_mile}}


def keep(*, by: Member, told: Told, today: date, group: RunningFigures | None) -> Comparison:
    """Make the two quotes a comparison of a member, used as their own records have it where they typed nothing else.

    A running cost that is the co-op's median, in pounds, is marked as taken from it: the page offers the ``group``'s.
    Kept twice, they make one. Raises ValidationError.
    """
    tables = tables_of(told, today)
    return start_comparison(
        by=by,
        name=f"Rent or your own, {month(today)}",
        use={**use_of_records(by, today), **tables["use"]},
        running=tables["running"],
        sources={key: _source_of(key, value, group) for key, value in tables["running"].items()},
        offers=[_new_offer(**offer) for offer in tables["offer"]],
    )


def _source_of(key: str, value: object, group: RunningFigures | None) -> str:
    is_median = group and key in group.medians and value == typed_figure(key, Fraction(group.medians[key]))
    return from_group(group.year) if group and is_median else TYPED


def _new_offer(*, name: str, kind: str, **terms: Any) -> NewOffer:
    return NewOffer(kind, name, terms)
