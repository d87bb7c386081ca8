"""Comparisons that the tests of the comparison's pages share."""

from typing import Any

from costing.core.catalogue.agreements import AGREEMENT_KINDS
from costing.models import Comparison
from instructors.models import Member
from tests.factories import ComparisonFactory, OfferFactory

RUNNING = {
    "fuel_pence_per_mile": "14.2",
    "insurance": ["1140.00", "985.00"],
    "vehicle_tax_per_year": "195.00",
    "breakdown_per_year": "64.00",
    "mot": "54.85",
    "servicing_per_year": "285.00",
    "repairs_per_year": "430.00",
    "tyre_set": "336.00",
    "tyre_set_miles": "24000",
    "fit_out": "465.00",
}
PCP = {
    "first_registered": "2025-05-10",
    "price": "13450.00",
    "deposit": "1650.00",
    "payment": "214.00",
    "payments": 42,
    "final_payment": "6100.00",
    "quoted_apr": "10.7",
    "value_now": "12300.00",
    "value_at_horizon": "7600.00",
    "mileage_allowance": "12000",
    "excess_pence_per_mile": "8.5",
    "damage": "300.00",
}
RENTAL = {
    "payment": "141.00",
    "payments": 65,
    "frequency": "week",
    "damage": "320.00",
    "includes": ["insurance", "vehicle_tax", "breakdown", "mot", "servicing", "repairs", "tyres", "fit_out"],
    "early_exit": {"kind": "weeks", "value": "6"},
}
HIRE = {
    "deposit": "1020.00",
    "payment": "318.00",
    "payments": 36,
    "mileage_allowance": "22000",
    "excess_pence_per_mile": "7",
    "damage": "260.00",
    "includes": ["vehicle_tax", "breakdown"],
    "early_exit": {"kind": "share_of_remaining", "value": "0.5"},
}
OWNED = {"price": "8900.00", "value_at_horizon": "5350.00"}
LOAN = {"price": "33500.00", "deposit": "3000.00", "payment": "712.00", "payments": 48, "value_at_horizon": "18200.00"}
USE = {
    "starts_on": "2026-05-01",
    "months": 30,
    "miles_per_year": "26000",
    "private_miles_per_year": "3200",
    "lesson_hours_per_week": "27",
    "weeks_taught_per_year": "45",
    "lesson_hour_price": "39.00",
}


def pcp_and_rental(member: Member, **changes: Any) -> Comparison:
    """A small estate on PCP beside a weekly rental, over 30 months."""
    comparison = ComparisonFactory.create(member=member, **({"use": USE, "running": RUNNING} | changes))
    add_offers(comparison, ("pcp", "Small estate", PCP), ("weekly_rental", "Weekly rental, all in", RENTAL))
    return comparison


def six_offers(member: Member, **changes: Any) -> Comparison:
    """One of every kind and one more, under names as long as they may be."""
    comparison = ComparisonFactory.create(member=member, **({"use": USE, "running": RUNNING} | changes))
    kinds = {"pcp": PCP, "weekly_rental": RENTAL, "contract_hire": HIRE, "owned": OWNED, "hire_purchase": LOAN}
    another = ("pcp", PCP | {"deposit": "2500.00", "at_end": "keep", "quoted_apr": "9.6"})
    offers = enumerate([*kinds.items(), another])
    add_offers(comparison, *((kind, long_name(kind, number), terms) for number, (kind, terms) in offers))
    return comparison


def long_name(kind: str, number: int) -> str:
    return f"{AGREEMENT_KINDS[kind].words} from the yard beyond the ring road {number}".ljust(80, "x")


def add_offers(comparison: Comparison, *offers: tuple[str, str, dict[str, Any]]) -> None:
    for position, (kind, name, terms) in enumerate(offers):
        OfferFactory(comparison=comparison, position=position, kind=kind, name=name, terms=terms)
