"""What the tests of choosing a car share: comparisons and forms as a browser sends them."""

from typing import Any

from costing.models import Comparison, Offer
from instructors.models import Member
from tests.factories import ComparisonFactory, OfferFactory

USE = {
    "name": "Next car",
    "starts_on": "2026-05-01",
    "months": "24",
    "miles_per_year": "24,000",
    "private_miles_per_year": "3,000",
    "lesson_hours_per_week": "26",
    "weeks_taught_per_year": "46",
    "lesson_hour_price": "£38",
}
PCP_MONEY = {
    "price": "11,800",
    "deposit": "1,200",
    "payment": "189",
    "payments": "36",
    "frequency": "month",
    "final_payment": "5,400",
    "quoted_apr": "11.9",
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
