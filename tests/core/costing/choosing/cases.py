"""Made-up documents of offers for the tests: one to begin with, and random ones."""

from datetime import date
from decimal import Decimal
from typing import Any

from hypothesis import strategies as st

from costing.choosing.core.case import Case
from costing.choosing.document.reading import read_document
from costing.core.catalogue.agreements import AGREEMENT_KINDS
from costing.core.catalogue.running import RUNNING_PARTS

Table = dict[str, Any]

USE: Table = {
    "starts_on": date(2027, 1, 1),
    "months": 24,
    "miles_per_year": 24_000,
    "private_miles_per_year": 3_000,
    "lesson_hours_per_week": 26,
    "weeks_taught_per_year": 46,
    "lesson_hour_price": Decimal("38.00"),
    "marginal_tax_rate": Decimal("0.26"),
}
RUNNING: Table = {
    "fuel_pence_per_mile": Decimal("13.5"),
    "insurance": [Decimal("910.00"), Decimal("790.00")],
    "vehicle_tax_per_year": Decimal("195.00"),
    "breakdown_per_year": Decimal("60.00"),
    "mot": Decimal("54.85"),
    "servicing_per_year": Decimal("260.00"),
    "repairs_per_year": Decimal("400.00"),
    "tyre_set": Decimal("320.00"),
    "tyre_set_miles": 25_000,
    "fit_out": Decimal("440.00"),
}
PCP: Table = {
    "name": "Three-year-old hatchback on PCP",
    "kind": "pcp",
    "first_registered": date(2024, 1, 10),
    "price": Decimal("11800.00"),
    "deposit": Decimal("1200.00"),
    "payment": Decimal("189.00"),
    "payments": 36,
    "final_payment": Decimal("5400.00"),
    "value_at_horizon": Decimal("6900.00"),
    "at_end": "sell",
    "mileage_allowance": 10_000,
    "excess_pence_per_mile": Decimal("9.0"),
}
RENTAL: Table = {
    "name": "Weekly rental, all in",
    "kind": "weekly_rental",
    "payment": Decimal("129.00"),
    "payments": 104,
    "frequency": "week",
    "damage": Decimal("350.00"),
    "includes": [*("insurance", "vehicle_tax", "breakdown", "mot", "servicing", "repairs", "tyres", "fit_out")],
    "early_exit": {"kind": "weeks", "value": 8},
    "pauses_when_off": False,
}
OWNED: Table = {
    "name": "Six-year-old estate",
    "kind": "owned",
    "price": Decimal("7200.00"),
    "value_at_horizon": Decimal("4100.00"),
}
HIRE: Table = {
    "name": "Contract hire",
    "kind": "contract_hire",
    "deposit": Decimal("900.00"),
    "payment": Decimal("310.00"),
    "payments": 24,
    "mileage_allowance": 20_000,
    "excess_pence_per_mile": Decimal("9.0"),
    "includes": ["vehicle_tax", "servicing"],
}
PURCHASE: Table = {
    "name": "Hire purchase",
    "kind": "hire_purchase",
    "price": Decimal("9500.00"),
    "deposit": Decimal("1500.00"),
    "payment": Decimal("252.00"),
    "payments": 36,
    "final_payment": Decimal("10.00"),
    "fees": Decimal("150.00"),
    "quoted_apr": Decimal("8.9"),
    "value_at_horizon": Decimal("5600.00"),
}


def case(
    *offers: Table,
    what_if: Table | None = None,
    uncertain: list[Table] | None = None,
    running: Table = RUNNING,
    **use: Any,
) -> Case:
    """The case of these offers; keywords are changes of the use."""
    document = {"use": USE | use, "running": running, "offer": list(offers), "uncertain": uncertain or []}
    if what_if is not None:
        document["what_if"] = [{"name": "Something"} | what_if]
    return read_document(document).case


def pounds(most: int) -> st.SearchStrategy[Decimal]:
    """Pounds and pence."""
    return st.decimals(0, most, places=2)


def numbers(least: int, most: int, places: int = 2) -> st.SearchStrategy[Decimal]:
    """Counts and rates."""
    return st.decimals(least, most, places=places)


days = st.dates(date(2026, 1, 1), date(2029, 12, 31)) | st.sampled_from([date(2027, 1, 31), date(2028, 2, 29)])
parts = st.sampled_from(list(RUNNING_PARTS))


@st.composite
def uses(draw: st.DrawFn, months: int | None = None) -> Table:
    """What `[use]` may say."""
    miles = draw(numbers(1_000, 60_000, 1))
    return USE | {
        "starts_on": draw(days),
        "months": months or draw(st.integers(1, 72)),
        "miles_per_year": miles,
        "private_miles_per_year": miles * Decimal("0.1"),
        "lesson_hours_per_week": draw(numbers(0, 60)),
        "weeks_taught_per_year": draw(numbers(1, 52, 1)),
    }


runnings: st.SearchStrategy[Table] = st.fixed_dictionaries(
    {},
    optional={
        "fuel_pence_per_mile": numbers(0, 40, 3),
        "insurance": st.lists(pounds(3_000), min_size=1, max_size=8),
        "vehicle_tax_per_year": pounds(700),
        "breakdown_per_year": pounds(200),
        "mot": pounds(60),
        "servicing_per_year": pounds(2_000),
        "repairs_per_year": pounds(3_000),
        "tyre_set": pounds(900),
        "tyre_set_miles": numbers(5_000, 60_000),
        "fit_out": pounds(1_500),
    },
)


@st.composite
def offers(draw: st.DrawFn, kind: str, name: str = "An offer") -> Table:
    """An offer of a kind, of any term and either frequency."""
    offer: Table = {"name": name, "kind": kind, "includes": draw(st.lists(parts, unique=True))}
    if draw(st.booleans()):
        offer["first_registered"] = draw(st.dates(date(2022, 1, 1), date(2029, 1, 1)))
    if kind == "owned":
        return offer | {"price": draw(numbers(1, 30_000)), "value_at_horizon": draw(pounds(20_000))}
    offer |= {
        "frequency": draw(st.sampled_from(["month", "week"])),
        "payments": draw(st.integers(1, 320)),
        "payment": draw(numbers(1, 900)),
        "deposit": draw(pounds(3_000)),
        "fees": draw(pounds(300)),
        "pauses_when_off": draw(st.booleans()),
    }
    if kind != "hire_purchase" and draw(st.booleans()):
        offer |= {"mileage_allowance": draw(numbers(0, 40_000)), "excess_pence_per_mile": draw(numbers(0, 30))}
    if kind in ("contract_hire", "weekly_rental"):
        rules = st.fixed_dictionaries({"kind": st.just("weeks"), "value": numbers(0, 20)}) | st.fixed_dictionaries(
            {"kind": st.just("share_of_remaining"), "value": numbers(0, 1)}
        )
        return offer | {"damage": draw(pounds(900))} | ({"early_exit": draw(rules)} if draw(st.booleans()) else {})
    # Half of what is lent comes back at least, so that the slow road's search for the rate begins wide enough.
    final_payment = draw(pounds(12_000))
    most = 2 * (offer["payment"] * offer["payments"] + final_payment)
    offer |= {
        "price": offer["deposit"] + min(draw(numbers(500, 30_000)), most),
        "final_payment": final_payment,
        "value_at_horizon": draw(pounds(20_000)),
    }
    assert kind in ("hire_purchase", "pcp"), f"{kind} has no random offers yet"
    if kind == "pcp":
        offer |= {"at_end": draw(st.sampled_from(["keep", "sell", "hand_back"])), "damage": draw(pounds(900))}
    return offer


KINDS = tuple(AGREEMENT_KINDS)
#: One offer of each kind to begin with.
SAMPLE_OF = {offer["kind"]: offer for offer in (OWNED, PURCHASE, PCP, HIRE, RENTAL)}
any_offer = st.sampled_from(KINDS).flatmap(offers)
