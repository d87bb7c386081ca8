"""Three offers that one of the made-up members is comparing."""

from datetime import date
from typing import Any

from costing.core.catalogue.agreements import OWNED, PCP, WEEKLY_RENTAL
from costing.core.catalogue.running import (
    BREAKDOWN,
    FIT_OUT,
    FUEL,
    INSURANCE,
    MOT,
    REPAIRS,
    RUNNING_PARTS,
    SERVICING,
    TYRES,
    VEHICLE_TAX,
)
from costing.models import Comparison, Offer
from fleet.core.days import add_months
from instructors.models import Member

_RUNNING: dict[str, Any] = {
    FUEL.key: "13.5",
    INSURANCE.key: ["910.00", "790.00"],
    VEHICLE_TAX.key: "195.00",
    BREAKDOWN.key: "62.00",
    MOT.key: "54.85",
    SERVICING.key: "260.00",
    REPAIRS.key: "400.00",
    TYRES.key: "310.00",
    TYRES.life_key: "25000",
    FIT_OUT.key: "440.00",
}
_ALL_BUT_FUEL = [part.name for part in RUNNING_PARTS.values() if part is not FUEL]


def make_comparison(member: Member, today: date) -> Comparison:
    """Make a comparison for ``member`` over two years from the first of next month."""
    starts_on = add_months(today.replace(day=1), 1)
    use = {
        "starts_on": starts_on.isoformat(),
        "months": 24,
        "miles_per_year": "24000",
        "private_miles_per_year": "3000",
        "lesson_hours_per_week": "26",
        "weeks_taught_per_year": "46",
        "lesson_hour_price": "38.00",
        "discount_rate": "0.04",
        "marginal_tax_rate": "0.26",
    }
    comparison = Comparison.objects.create(
        member=member,
        name="The next car",
        use=use,
        running=_RUNNING,
        sources=dict.fromkeys(_RUNNING, "typed in"),
    )
    Offer.objects.bulk_create(
        Offer(comparison=comparison, position=position, kind=kind, name=name, terms=terms)
        for position, (kind, name, terms) in enumerate(_offers(add_months(starts_on, -36)))
    )
    return comparison


def _offers(first_registered: date) -> list[tuple[str, str, dict[str, Any]]]:
    bought = {
        "price": "9800.00",
        "value_at_horizon": "5600.00",
        "first_registered": add_months(first_registered, -24).isoformat(),
    }
    on_pcp = {
        "price": "11800.00",
        "deposit": "1200.00",
        "payment": "249.00",
        "payments": 36,
        "frequency": "month",
        "final_payment": "5400.00",
        "quoted_apr": "14.9",
        "value_at_horizon": "6900.00",
        "mileage_allowance": "10000",
        "excess_pence_per_mile": "9.0",
        "first_registered": first_registered.isoformat(),
    }
    rented = {
        "payment": "129.00",
        "payments": 104,
        "frequency": "week",
        "damage": "350.00",
        "includes": _ALL_BUT_FUEL,
        "early_exit": {"kind": "weeks", "value": "8"},
    }
    return [
        (OWNED.name, "Five-year-old hatchback, bought outright", bought),
        (PCP.name, "Three-year-old hatchback on PCP", on_pcp),
        (WEEKLY_RENTAL.name, "Weekly rental, all but fuel", rented),
    ]
