"""Comparisons that the tests of the comparison's pages share."""

from typing import Any

from costing.core.catalogue.agreements import AGREEMENT_KINDS
from costing.models import Comparison
from instructors.models import Member
from tests.factories import ComparisonFactory, OfferFactory

RUNNING = {
    "fuel_pence_per_mile": "13.5",
    "insurance": ["910.00", "790.00"],
    "vehicle_tax_per_year": "195.00",
    "breakdown_per_year": "60.00",
    "mot": "54.85",
    "servicing_per_year": "260.00",
    "repairs_per_year": "400.00",
    "tyre_set": "320.00",
    "fit_out": "440.00",
}
PCP = {
    "first_registered": "2023-05-10",
    "price": "11800.00",
    "deposit": "1200.00",
    "payment": "189.00",
    "payments": 36,
    "final_payment": "5400.00",
    "quoted_apr": "11.9",
    "value_at_horizon": "6900.00",
    "mileage_allowance": "10000",
    "excess_pence_per_mile": "9.0",
}
RENTAL = {
    "payment": "129.00",
    "payments": 104,
    "frequency": "week",
    "damage": "350.00",
    "includes": ["insurance", "vehicle_tax", "breakdown", "mot", "servicing", "repairs", "tyres", "fit_out"],
    "early_exit": {"kind": "weeks", "value": "8"},
}
HIRE = {
    "deposit": "900.00",
    "payment": "309.00",
    "payments": 48,
    "mileage_allowance": "20000",
    "excess_pence_per_mile": "7.5",
    "damage": "250.00",
    "includes": ["vehicle_tax", "breakdown"],
    "early_exit": {"kind": "share_of_remaining", "value": "0.5"},
}
OWNED = {"price": "9500.00", "value_at_horizon": "6200.00"}
LOAN = {"price": "31000.00", "deposit": "2000.00", "payment": "690.00", "payments": 48, "value_at_horizon": "19500.00"}


def pcp_and_rental(member: Member, **changes: Any) -> Comparison:
    """A PCP beside a weekly rental, over 24 months: £17,257.89 and £20,246.00 in all."""
    comparison = ComparisonFactory.create(member=member, running=RUNNING, **changes)
    add_offers(comparison, ("pcp", "Three-year-old hatchback", PCP), ("weekly_rental", "Weekly rental, all in", RENTAL))
    return comparison


def six_offers(member: Member, **changes: Any) -> Comparison:
    """One of every kind and one more, under names as long as they may be."""
    comparison = ComparisonFactory.create(member=member, running=RUNNING, **changes)
    kinds = {"pcp": PCP, "weekly_rental": RENTAL, "contract_hire": HIRE, "owned": OWNED, "hire_purchase": LOAN}
    another = ("pcp", PCP | {"deposit": "2500.00", "at_end": "keep", "quoted_apr": "4.9"})
    offers = enumerate([*kinds.items(), another])
    add_offers(comparison, *((kind, long_name(kind, number), terms) for number, (kind, terms) in offers))
    return comparison


def long_name(kind: str, number: int) -> str:
    return f"{AGREEMENT_KINDS[kind].words} from the yard beyond the ring road {number}".ljust(80, "x")


def add_offers(comparison: Comparison, *offers: tuple[str, str, dict[str, Any]]) -> None:
    for position, (kind, name, terms) in enumerate(offers):
        OfferFactory(comparison=comparison, position=position, kind=kind, name=name, terms=terms)
