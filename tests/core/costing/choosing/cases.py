"""Made-up cases of offers for the tests: one offer of each kind to begin with, and random ones."""

from datetime import date
from fractions import Fraction
from functools import cached_property
from typing import Any

from hypothesis import strategies as st

from costing.choosing.core.case import Case, Chance, EarlyExit, Fuel, Offer, Running, Use, WeeksOff, WhatIf
from costing.choosing.core.figures import Figures, figures
from costing.core.catalogue.agreements import AGREEMENT_KINDS
from costing.core.catalogue.running import RUNNING_PARTS

ALL = frozenset(RUNNING_PARTS)

USE = Use(
    starts_on=date(2027, 3, 1),
    months=33,
    miles_per_year=Fraction(21_000),
    private_miles_per_year=Fraction(2_100),
    lesson_hours_per_week=Fraction(24),
    weeks_taught_per_year=Fraction(44),
    lesson_hour_price=39_00,
    marginal_tax_rate=Fraction("0.26"),
)
RUNNING = Running(
    fuel=(Fuel(Fraction("14.2")),),
    insurance=(1_080_00, 940_00),
    insurance_given_back=Fraction("0.5"),
    vehicle_tax_per_year=180_00,
    breakdown_per_year=72_00,
    mot=54_85,
    servicing_per_year=310_00,
    repairs_per_year=380_00,
    tyre_set=344_00,
    tyre_set_miles=Fraction(22_000),
    fit_out=415_00,
)
UNTOLD = Running()
OWNED = Offer("Older saloon", "owned", date(2022, 2, 14), price=6_450_00, value_at_horizon=3_300_00)
PURCHASE = Offer(
    "Hire purchase",
    "hire_purchase",
    price=9_850_00,
    deposit=850_00,
    payment=236_00,
    payments=45,
    final_payment=10_00,
    fees=95_00,
    quoted_apr=Fraction("9.9"),
    value_at_horizon=5_100_00,
    damage=0,
)
PCP = Offer(
    "Small car on PCP",
    "pcp",
    date(2026, 11, 20),
    price=13_400_00,
    deposit=1_000_00,
    payment=214_00,
    payments=42,
    final_payment=5_700_00,
    value_at_horizon=7_000_00,
    mileage_allowance=Fraction(12_000),
    excess_pence_per_mile=Fraction("7.5"),
    damage=250_00,
)
HIRE = Offer(
    "Contract hire",
    "contract_hire",
    date(2027, 3, 1),
    deposit=804_00,
    payment=268_00,
    payments=27,
    fees=120_00,
    mileage_allowance=Fraction(18_000),
    excess_pence_per_mile=Fraction(8),
    damage=200_00,
    includes=frozenset({"vehicle_tax", "servicing"}),
    early_exit=EarlyExit("share_of_remaining", Fraction("0.5")),
)
RENTAL = Offer(
    "Weekly rental",
    "weekly_rental",
    payment=142_50,
    payments=65,
    frequency="week",
    damage=300_00,
    includes=ALL - {"fuel"},
    early_exit=EarlyExit("weeks", Fraction(6)),
)
KINDS = tuple(AGREEMENT_KINDS)
#: One offer of each kind to begin with.
SAMPLE_OF = {offer.kind: offer for offer in (OWNED, PURCHASE, PCP, HIRE, RENTAL)}


def case(*offers: Offer, running: Running = RUNNING, what_ifs: tuple[WhatIf, ...] = (), **use: Any) -> Case:
    """The case of these offers; keywords are changes of the use."""
    return Case(USE._replace(**use), running, offers, what_ifs)


def worked_out(case: Case, **how: Any) -> list[Figures]:
    """Every offer of a case, as planned or as the keywords say."""
    return [figures(case, offer, **how) for offer in case.offers]


def said(one: Figures, *but: str) -> dict[str, Any]:
    """Every figure of an offer by its name, leaving out some."""
    names = [name for name, what in vars(Figures).items() if isinstance(what, property | cached_property)]
    return {name: getattr(one, name) for name in names if not name.startswith("_") and name not in but}


def one(offer: Offer, running: Running = UNTOLD, **use: Any) -> Figures:
    """The figures of one offer that includes what isn't told; keywords are changes of the use."""
    told = {part.name for part in RUNNING_PARTS.values() if getattr(running, part.field) is not None}
    [found] = worked_out(case(offer._replace(includes=offer.includes | (ALL - told)), running=running, **use))
    return found


# --- Random cases -----------------------------------------------------------------------------------------


def pence(most: int, least: int = 0) -> st.SearchStrategy[int]:
    return st.integers(least, most)


def numbers(least: int, most: int, over: int = 100) -> st.SearchStrategy[Fraction]:
    """Counts and rates."""
    return st.integers(least * over, most * over).map(lambda value: Fraction(value, over))


days = st.dates(date(2026, 1, 1), date(2029, 12, 31)) | st.sampled_from([date(2027, 1, 31), date(2028, 2, 29)])
shares = st.sampled_from([Fraction(0), Fraction(1, 3), Fraction(1, 2), Fraction(1)])
_MIXED = (
    Fuel(Fraction(150), "litre", Fraction(50), Fraction("0.3")),
    Fuel(Fraction(31), "kwh", Fraction("3.6"), Fraction("0.7")),
)
_by_economy = st.builds(
    Fuel, numbers(1, 200, 10), st.sampled_from(["litre", "kwh"]), numbers(2, 70, 10), st.just(Fraction(1))
)
fuels = (numbers(1, 40, 10).map(Fuel) | _by_economy).map(lambda fuel: (fuel,)) | st.just(_MIXED)


@st.composite
def uses(draw: st.DrawFn, most_months: int = 62) -> Use:
    miles, months = draw(numbers(1_000, 60_000, 10)), draw(st.integers(1, most_months))
    at = draw(st.lists(st.integers(1, months - 1), unique=True, max_size=3)) if months > 1 else []
    return USE._replace(
        starts_on=draw(days),
        months=months,
        miles_per_year=miles,
        private_miles_per_year=miles * draw(numbers(0, 1)),
        lesson_hours_per_week=draw(numbers(0, 60)),
        weeks_taught_per_year=draw(numbers(1, 52, 10)),
        discount_rate=draw(numbers(0, 1)),
        cash_in_hand=draw(st.none() | pence(9_000_00)),
        put_by_per_month=draw(st.none() | pence(900_00)),
        leaving=tuple(Chance(month, draw(numbers(0, 1)) / 3) for month in sorted(at)),
    )


_TABLE: dict[str, st.SearchStrategy[Any]] = {
    "fuel": fuels,
    "insurance": st.lists(pence(3_000_00), min_size=1, max_size=6).map(tuple),
    "insurance_given_back": shares,
    "vehicle_tax_per_year": pence(700_00),
    "breakdown_per_year": pence(200_00),
    "mot": pence(60_00),
    "servicing_per_year": pence(2_000_00),
    "repairs_per_year": pence(3_000_00),
    "tyre_set": pence(900_00),
    "tyre_set_miles": numbers(5_000, 60_000),
    "fit_out": pence(1_500_00),
}
told_tables = st.builds(Running, **_TABLE)
own_tables = st.builds(Running, **{name: st.none() | st.none() | figure for name, figure in _TABLE.items()})
#: Tables of which all is told, and tables of which anything may not be.
tables = told_tables | st.builds(Running, **{name: st.none() | figure for name, figure in _TABLE.items()})
rules = st.builds(EarlyExit, st.just("weeks"), numbers(0, 20)) | st.builds(
    EarlyExit, st.just("share_of_remaining"), numbers(0, 1)
)


@st.composite
def offers(draw: st.DrawFn, kind: str, name: str = "An offer") -> Offer:
    """An offer of a kind, of any term and either frequency; any of its figures may not be told."""
    offer = Offer(
        name,
        kind,
        draw(st.none() | st.dates(date(2022, 1, 1), date(2029, 1, 1))),
        includes=draw(st.frozensets(st.sampled_from(sorted(RUNNING_PARTS))) | st.just(ALL)),
        running=draw(st.just(Running()) | own_tables),
    )
    if kind == "owned":
        return _valued(draw, offer._replace(price=draw(pence(30_000_00, 1_00))))
    offer = offer._replace(
        frequency=draw(st.sampled_from(["month", "week"])),
        payments=draw(st.integers(1, 280)),
        payment=draw(pence(900_00, 1_00)),
        deposit=draw(pence(3_000_00)),
        fees=draw(pence(300_00)),
        mileage_allowance=draw(st.none() | numbers(0, 40_000)),
        excess_pence_per_mile=draw(st.none() | numbers(0, 30)),
        damage=draw(st.none() | pence(900_00)),
    )
    if offer.is_hire:
        return offer._replace(
            early_exit=draw(st.none() | rules),
            deposit_comes_back=draw(st.booleans()),
            then=draw(st.sampled_from([None, "rolls", "renew"])),
            pauses_when_off=draw(st.booleans()),
        )
    assert offer.is_credit, f"{kind} has no random offers yet"
    final_payment = draw(pence(12_000_00))
    paid = offer.payment * offer.payments + offer.fees + final_payment
    half_rule = draw(st.sampled_from([None, True, False]))
    ways = ["cheapest", "settle"] + (["half_rule"] if half_rule else [])
    offer = offer._replace(
        price=offer.deposit + min(draw(pence(40_000_00, 100_00)), paid),
        final_payment=final_payment,
        half_rule=half_rule,
        on_leaving=draw(st.sampled_from(ways)),
        at_end=draw(st.sampled_from([None, "keep", "sell", "hand_back"])) if kind == "pcp" else None,
    )
    return _valued(draw, offer)


def _valued(draw: st.DrawFn, offer: Offer) -> Offer:
    now = draw(st.none() | pence(30_000_00, 1))
    return offer._replace(value_now=now, value_at_horizon=draw(st.none() | pence(20_000_00)))


any_offer = st.sampled_from(KINDS).flatmap(offers)


@st.composite
def cases(draw: st.DrawFn, most_offers: int = 1) -> Case:
    """A case of any offers, of which much may not be told."""
    kinds = draw(st.lists(st.sampled_from(KINDS), min_size=1, max_size=most_offers))
    made = [draw(offers(kind, f"Offer {number}")) for number, kind in enumerate(kinds)]
    return Case(draw(uses()), draw(tables), tuple(made))


@st.composite
def events(draw: st.DrawFn, months: int) -> WhatIf:
    """Anything that may happen to a plan, all at once."""
    return WhatIf(
        "Something",
        off=draw(st.none() | st.builds(WeeksOff, st.integers(1, 60), st.integers(1, 60))),
        leave_at_month=draw(st.none() | st.integers(1, months)),
        more_miles=draw(st.sampled_from([Fraction(0), Fraction("0.2"), Fraction("-0.3")])),
        one_repair=draw(st.none() | pence(2_000_00)),
        damage=draw(st.none() | pence(2_000_00)),
    )
