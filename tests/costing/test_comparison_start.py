"""Starting a comparison: what it knows before anything is typed."""

from datetime import date

import pytest
from django.test import Client
from django.urls import reverse

from costing.models import Comparison
from fleet.models import Car
from instructors.models import Cooperative, Member
from tests.factories import (
    CarFactory,
    CostEntryFactory,
    FillFactory,
    GroupFigureFactory,
    TeachingRecordFactory,
)

START = reverse("costing:comparison-start")
MOT = {"mot": "54.85"}

pytestmark = pytest.mark.usefixtures("today")


def start(client: Client, member: Member) -> Comparison:
    response = client.post(START)
    comparison = Comparison.objects.get(member=member)
    assert (response.status_code, response.url) == (303, reverse("costing:comparison-use", args=[comparison.pk]))
    return comparison


def test_it_starts_on_the_first_of_next_month_with_what_is_known_of_any_car(
    everyone: dict[str, Client], stranger: Member
) -> None:
    comparison = start(everyone["stranger"], stranger)
    assert comparison.use == {"starts_on": "2026-04-01", "months": 24, "weeks_taught_per_year": "46"}
    assert comparison.running == MOT
    assert comparison.sources == {"mot": "the most that an MOT of a car may cost (GOV.UK, MOT test fees)"}


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
    assert (use["miles_per_year"], use["private_miles_per_year"]) == ("7821", "913")
    assert use["lesson_hours_per_week"] == "10.2"


def test_running_costs_come_from_own_records_before_the_median_of_the_group(
    everyone: dict[str, Client], keeper: Member, car: Car
) -> None:
    CostEntryFactory.create(car=car, category="repairs", amount="365.00", paid_on="2025-06-02")
    CostEntryFactory.create(
        car=car,
        category="insurance",
        amount="75.00",
        paid_on="2026-02-01",
        covers_from="2026-02-01",
        covers_to="2026-02-28",
    )
    # Closed by others long ago: what this member has logged is not in it.
    GroupFigureFactory.create(
        span="year",
        repairs_per_year="400.00",
        servicing_per_year="250.00",
        fuel_pence_per_mile_petrol="14.50",
        fuel_pence_per_mile_diesel="12.00",
    )
    comparison = start(everyone["keeper"], keeper)
    assert comparison.running == MOT | {
        "insurance": ["977.68"],  # £75 for 28 days
        "repairs_per_year": "365.00",
        "servicing_per_year": "250.00",
        "fuel_pence_per_mile": "14.50",
    }
    own = "your own records, March 2025 to February 2026"
    assert {key: source for key, source in comparison.sources.items() if key != "mot"} == {
        "insurance": own,
        "repairs_per_year": own,
        "servicing_per_year": "the group’s rounded median",
        "fuel_pence_per_mile": "the group’s rounded median",
    }


@pytest.mark.parametrize("fuels", [[], ["petrol", "diesel"], ["electric"]])
def test_fuel_of_the_group_is_proposed_only_for_the_one_kind_a_member_burns(
    everyone: dict[str, Client], stranger: Member, fuels: list[str]
) -> None:
    for fuel in fuels:
        CarFactory.create(keeper=stranger, fuel=fuel)
    GroupFigureFactory.create(span="year", fuel_pence_per_mile_petrol="14.50", fuel_pence_per_mile_diesel="12.00")
    assert start(everyone["stranger"], stranger).running == MOT


def test_the_year_closed_last_is_the_one_proposed(everyone: dict[str, Client], stranger: Member) -> None:
    for month, servicing in ((date(2025, 12, 1), "200.00"), (date(2026, 1, 1), "300.00")):
        GroupFigureFactory.create(month=month, span="year", servicing_per_year=servicing)
    assert start(everyone["stranger"], stranger).running == MOT | {"servicing_per_year": "300.00"}


def test_a_minimum_raised_since_hides_the_running_costs_too(everyone: dict[str, Client], stranger: Member) -> None:
    GroupFigureFactory.create(span="year", contributor_count=9, servicing_per_year="300.00")
    Cooperative.objects.update_or_create(id=1, defaults={"minimum_contributors": 6})
    assert start(everyone["stranger"], stranger).running == MOT


def test_another_members_costs_are_no_part_of_it(
    everyone: dict[str, Client], colleague_car: Car, stranger: Member
) -> None:
    CostEntryFactory.create(car=colleague_car, category="repairs", amount="365.00", paid_on="2025-06-02")
    assert start(everyone["stranger"], stranger).running == MOT


def test_tapped_twice_it_makes_one(everyone: dict[str, Client], stranger: Member) -> None:
    for _ in range(2):
        start(everyone["stranger"], stranger)


def test_it_is_started_by_a_post_alone(everyone: dict[str, Client]) -> None:
    assert everyone["stranger"].get(START).status_code == 405
    assert not Comparison.objects.exists()
