"""Random offers documents in their typed form, for properties that hold for every one of them."""

from collections.abc import Sequence
from datetime import date
from fractions import Fraction
from typing import Any

from hypothesis import strategies as st

from costing.choosing.core.case import Chance, EarlyExit, Fuel, Spread, WeeksOff
from costing.choosing.document.checks import wrong_in_handing_back, wrong_in_offer
from costing.choosing.document.schema import Tables
from costing.core.catalogue.agreements import AGREEMENT_KINDS
from costing.core.catalogue.running import RUNNING_PARTS

days = st.dates(date(1980, 1, 1), date(2100, 12, 31))
names = st.text(st.characters(codec="utf-8", exclude_categories=("C", "Z")), min_size=1, max_size=30)


def sums(most: int = 999_999_999) -> st.SearchStrategy[Any]:
    """Whole pence, or a range of them."""
    return st.integers(0, most) | st.tuples(*[st.integers(0, most)] * 3).map(lambda ends: Spread(*sorted(ends)))


def exact(least: int, most: int) -> st.SearchStrategy[Fraction]:
    """A number with up to six decimals."""
    return st.integers(least * 10**6, most * 10**6).map(lambda millionths: Fraction(millionths, 10**6))


def pence(most: int) -> st.SearchStrategy[Any]:
    """A price or rate in pence, or its range."""
    return exact(0, most) | st.tuples(*[exact(0, most)] * 3).map(lambda ends: Spread(*sorted(ends)))


shares = exact(0, 1)
litres = st.builds(Fuel, pence(1_000), st.just("litre"), exact(1, 500), st.just(Fraction(1)))
kwh = st.builds(Fuel, pence(1_000), st.just("kwh"), exact(1, 50), st.just(Fraction(1)))
fuels = (litres | kwh).map(lambda fuel: (fuel,)) | st.tuples(litres, kwh | litres, shares).map(
    lambda two: (two[0]._replace(share=two[2]), two[1]._replace(share=1 - two[2]))
)


@st.composite
def some(draw: st.DrawFn, values: dict[str, st.SearchStrategy[Any]], always: Sequence[str] = ()) -> dict[str, Any]:
    """A table with what it always has and some of the rest."""
    chosen = draw(st.sets(st.sampled_from(sorted(values))))
    return {name: draw(strategy) for name, strategy in values.items() if name in chosen or name in always}


_RUNNING: dict[str, st.SearchStrategy[Any]] = {
    "insurance": st.lists(sums(), min_size=1, max_size=10).map(tuple),
    "insurance_given_back": shares,
    **dict.fromkeys(("vehicle_tax_per_year", "breakdown_per_year", "mot", "servicing_per_year"), sums()),
    **dict.fromkeys(("repairs_per_year", "tyre_set", "fit_out"), sums()),
    "tyre_set_miles": exact(1, 200_000),
}
running = some({**_RUNNING, "fuel_pence_per_mile": pence(200)}) | some({**_RUNNING, "fuel": fuels})
_TERMS: dict[str, st.SearchStrategy[Any]] = {
    "first_registered": days,
    **dict.fromkeys(("price", "payment", "deposit", "final_payment", "fees", "damage"), sums()),
    **dict.fromkeys(("value_now", "value_at_horizon"), sums()),
    "payments": st.integers(1, 520),
    "frequency": st.sampled_from(["month", "week"]),
    "quoted_apr": exact(0, 999),
    "at_end": st.sampled_from(["sell", "keep", "hand_back"]),
    "on_leaving": st.sampled_from(["cheapest", "settle", "half_rule"]),
    "half_rule": st.booleans(),
    "mileage_allowance": exact(0, 200_000),
    "excess_pence_per_mile": pence(9_999),
    "includes": st.frozensets(st.sampled_from(list(RUNNING_PARTS))),
    "running": running,
    "early_exit": st.builds(EarlyExit, st.just("weeks"), exact(0, 520))
    | st.builds(EarlyExit, st.just("share_of_remaining"), shares),
    "deposit_comes_back": st.booleans(),
    "then": st.sampled_from(["rolls", "renew"]),
    "pauses_when_off": st.booleans(),
}


@st.composite
def offers(draw: st.DrawFn, name: str, months: int) -> dict[str, Any]:
    """An offer without a fault."""
    kind = draw(st.sampled_from(list(AGREEMENT_KINDS.values())))
    terms = {key: strategy for key, strategy in _TERMS.items() if key not in kind.refuses}
    offer = {"name": name, "kind": kind.name, **draw(some(terms, always=kind.needed_when_offered))}
    for mend in (
        _repay,
        lambda offer: offer.pop("on_leaving", None),
        lambda offer: offer.pop("value_at_horizon", None),
    ):
        if [*wrong_in_offer(offer)]:
            mend(offer)
    if [*wrong_in_handing_back(offer, months)]:
        offer["at_end"] = "keep"
    return offer


def _repay(offer: dict[str, Any]) -> None:
    """Lend something, and pay it all back."""
    if "payments" in offer and "price" in offer:
        offer |= {"price": 20_000_00, "deposit": 1_000_00, "payment": 25_000_00}


@st.composite
def documents(draw: st.DrawFn) -> Tables:
    """A whole document without a fault."""
    months = draw(st.integers(2, 120))
    use = draw(
        some(
            {
                "starts_on": days,
                "miles_per_year": exact(5_000, 200_000),
                "private_miles_per_year": exact(0, 5_000),
                "lesson_hours_per_week": exact(0, 168),
                "weeks_taught_per_year": exact(1, 52),
                "lesson_hour_price": sums(1_000_00),
                "discount_rate": shares,
                "marginal_tax_rate": shares,
                "cash_in_hand": sums(),
                "put_by_per_month": sums(),
                "leaving": st.sets(st.integers(1, months - 1), max_size=3).map(
                    lambda chosen: tuple(Chance(month, Fraction(1, 4)) for month in sorted(chosen))
                ),
            },
            always=(
                *("starts_on", "miles_per_year", "private_miles_per_year"),
                *("lesson_hours_per_week", "weeks_taught_per_year", "lesson_hour_price"),
            ),
        )
    )
    called = draw(st.lists(names, min_size=1, max_size=4, unique=True))
    changes = some(
        {
            "name": names,
            "weeks_off": st.builds(WeeksOff, st.integers(1, 520), st.integers(0, 520)),
            "leave_at_month": st.integers(1, months),
            "more_miles": exact(0, 5),
            **dict.fromkeys(("one_repair", "damage"), sums()),
        },
        always=("name",),
    )
    ends = st.tuples(*[st.integers(0, 100)] * 3).map(sorted)
    weeks_off = ends.map(
        lambda ends: {"input": "weeks_off", **dict(zip(("low", "likely", "high"), map(Fraction, ends), strict=True))}
    )
    return Tables(
        use={"months": months, **use},
        running=draw(running),
        offer=[draw(offers(name, months)) for name in called],
        what_if=draw(st.lists(changes, max_size=3)),
        uncertain=draw(st.lists(weeks_off, max_size=1)),
    )
