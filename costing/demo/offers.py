"""Three offers between which one of the made-up members is choosing."""

from datetime import date
from typing import Any

from costing.actions.choosing import NewOffer, start_comparison
from costing.models import Comparison
from fleet.core.days import add_months
from instructors.models import Member

_RUNNING: dict[str, Any] = {
    "fuel_pence_per_mile": "13.5",
    "insurance": ["910.00", "790.00"],
    "vehicle_tax_per_year": "195.00",
    "breakdown_per_year": "62.00",
    "mot": "54.85",
    "servicing_per_year": "260.00",
    "repairs_per_year": "400.00",
    "tyre_set": "310.00",
    "tyre_set_miles": "25000",
    "fit_out": "440.00",
}
_ALL_BUT_FUEL = ["insurance", "vehicle_tax", "breakdown", "mot", "servicing", "repairs", "tyres", "fit_out"]


def make_comparison(member: Member, today: date) -> Comparison:
    """A comparison of ``member`` over two years from the first of next month."""
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
    return start_comparison(
        by=member,
        name="The next car",
        use=use,
        running=_RUNNING,
        sources=dict.fromkeys(_RUNNING, "typed in"),
        offers=_offers(add_months(starts_on, -36)),
    )


def _offers(first_registered: date) -> list[NewOffer]:
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
        NewOffer("owned", "Five-year-old hatchback, bought outright", bought),
        NewOffer("pcp", "Three-year-old hatchback on PCP", on_pcp),
        NewOffer("weekly_rental", "Weekly rental, all but fuel", rented),
    ]
