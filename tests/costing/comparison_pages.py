"""What the tests of choosing a car share: comparisons and forms as a browser sends them."""

from typing import Any

from costing.models import Comparison, Offer
from instructors.models import Member
from tests.factories import ComparisonFactory, OfferFactory

USE = {
    "name": "Next car",
    "starts_on": "2026-05-01",
    "months": "30",
    "miles_per_year": "24,000",
    "private_miles_per_year": "3,000",
    "lesson_hours_per_week": "26",
    "weeks_taught_per_year": "46",
    "lesson_hour_price": "£38",
}
#: A PCP as its page sends it.
PCP = {
    "kind": "pcp",
    "name": "Small estate on PCP",
    "price": "12,640",
    "deposit": "1,850",
    "payment": "214.37",
    "payments": "41",
    "frequency": "month",
    "final_payment": "4,975",
    "quoted_apr": "7.4",
    "mileage_allowance": "14,000",
    "excess_pence_per_mile": "8.5",
    "burns": "",
    "on_leaving": "cheapest",
    "proposed_for": "",
}
#: A weekly rental as its page sends it.
RENTAL = {
    "kind": "weekly_rental",
    "name": "Weekly rental, all in",
    "payment": "147.50",
    "payments": "1",
    "frequency": "week",
    "includes": ["all_but_fuel"],
    "burns": "",
    "proposed_for": "",
}


def comparison_of(member: Member, **fields: Any) -> Comparison:
    return ComparisonFactory.create(member=member, **fields)


def rental(comparison: Comparison, **fields: Any) -> Offer:
    """A weekly rental of which all is told but what this test is about."""
    told = {
        "kind": "weekly_rental",
        "name": "Weekly rental",
        "terms": {"payment": "129.00", "payments": 104, "frequency": "week"},
    }
    return OfferFactory.create(comparison=comparison, **(told | fields))
