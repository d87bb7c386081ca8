"""Starting a comparison: what it knows before anything is typed."""

from datetime import date

import pytest
from django.test import Client
from django.urls import reverse

from config.budgets import COMPARISONS
from costing.models import Comparison
from fleet.models import Car
from instructors.models import Member
from tests.costing.pages import text_of
from tests.factories import ComparisonFactory, FillFactory, TeachingRecordFactory

START = reverse("costing:comparison-start")

pytestmark = pytest.mark.usefixtures("today")


def start(client: Client, member: Member) -> Comparison:
    response = client.post(START)
    comparison = Comparison.objects.get(member=member)
    assert (response.status_code, response.url) == (303, reverse("costing:comparison-use", args=[comparison.pk]))
    return comparison


def test_it_starts_on_the_first_of_next_month_with_nothing_that_depends_on_the_car(
    everyone: dict[str, Client], stranger: Member
) -> None:
    comparison = start(everyone["stranger"], stranger)
    assert comparison.use == {"starts_on": "2026-04-01", "months": 36, "weeks_taught_per_year": 46}
    assert (comparison.running, comparison.sources) == ({}, {})


def test_miles_and_hours_come_from_the_own_records_of_the_last_12_closed_months(
    everyone: dict[str, Client], keeper: Member, car: Car
) -> None:
    car.in_service_from = date(2026, 2, 1)
    car.save()
    for read_on, miles in (("2026-01-31", 47_000), ("2026-02-28", 47_600)):
        FillFactory.create(car=car, filled_on=read_on, odometer=miles)
    TeachingRecordFactory.create(car=car, from_on="2026-02-01", to_on="2026-02-28", minutes=36 * 60, private_miles=70)
    use = start(everyone["keeper"], keeper).use
    # 28 of 365 days in service: 600 miles, 70 of them private, and 36 hours
    # are 7,821, 912.5 and 469.3 a year, 10.2 hours in each of 46 weeks.
    assert (use["miles_per_year"], use["private_miles_per_year"]) == (7821, 913)
    assert use["lesson_hours_per_week"] == "10.2"


def test_tapped_twice_it_makes_one(everyone: dict[str, Client], stranger: Member) -> None:
    for _ in range(2):
        start(everyone["stranger"], stranger)


def test_it_is_started_by_a_post_alone(everyone: dict[str, Client]) -> None:
    assert everyone["stranger"].get(START).status_code == 405
    assert not Comparison.objects.exists()


def test_no_more_can_be_started_than_the_list_may_hold(everyone: dict[str, Client], stranger: Member) -> None:
    ComparisonFactory.create_batch(COMPARISONS, member=stranger)

    listed = everyone["stranger"].post(START, follow=True)
    assert listed.redirect_chain == [(reverse("costing:comparison-list"), 303)]
    assert "You have 50 comparisons, and no more can be kept. Remove one first." in text_of(listed)
    assert Comparison.objects.count() == COMPARISONS
