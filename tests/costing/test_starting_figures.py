"""What the book proposes for running an offered car, by what it burns."""

from datetime import date
from fractions import Fraction

import pytest

from costing.choosing.services.starting_figures import Proposal, proposed_running, running_of_offer
from fleet.models import Car
from instructors.models import Cooperative, Member
from tests.factories import CarFactory, CooperativeFactory, CostEntryFactory, FillFactory, GroupFigureFactory

TODAY = date(2026, 3, 16)
MOT = {"mot": 54_85}

pytestmark = pytest.mark.usefixtures("today")


def proposed(member: Member, burns: str = "petrol") -> Proposal:
    return proposed_running(member, burns, TODAY)


def test_own_records_come_before_the_median_of_the_group(keeper: Member, car: Car) -> None:
    CostEntryFactory.create(car=car, category="repairs", amount="365.00", paid_on="2025-06-02")
    CostEntryFactory.create(car=car, category="tyres", amount="300.00", paid_on="2025-07-02", covers_miles=22_000)
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
    proposal = proposed(keeper)
    assert proposal.running == MOT | {
        "insurance": (977_68,),  # £75 for 28 days
        "repairs_per_year": 365_00,
        "servicing_per_year": 250_00,
        "fuel_pence_per_mile": Fraction("14.5"),
        "tyre_set": 300_00,
        "tyre_set_miles": Fraction(22_000),
    }
    own = "your own records, March 2025 to February 2026"
    assert {key: source for key, source in proposal.sources.items() if key != "mot"} == {
        "insurance": own,
        "repairs_per_year": own,
        "tyre_set": own,
        "tyre_set_miles": own,
        "servicing_per_year": "the group’s rounded median, March 2025 to February 2026",
        "fuel_pence_per_mile": "the group’s rounded median, March 2025 to February 2026",
    }
    assert proposal.sources["mot"] == "the most that an MOT of a car may cost (GOV.UK, MOT test fees)"


@pytest.mark.parametrize("burns", ["diesel", "hybrid", "plugin_hybrid", "electric"])
def test_a_car_of_another_fuel_proposes_nothing(keeper: Member, car: Car, burns: str) -> None:
    for read_on, miles in (("2025-12-31", 46_000), ("2026-02-28", 47_600)):
        FillFactory.create(car=car, filled_on=read_on, odometer=miles)
    CostEntryFactory.create(car=car, category="repairs", amount="365.00", paid_on="2025-06-02")
    assert proposed(keeper, burns).running == MOT


def test_of_two_cars_the_one_of_the_same_fuel_counts(keeper: Member, car: Car) -> None:
    other = CarFactory.create(keeper=keeper, fuel="electric")
    CostEntryFactory.create(car=car, category="repairs", amount="365.00", paid_on="2025-06-02")
    CostEntryFactory.create(car=other, member=keeper, category="repairs", amount="100.00", paid_on="2025-06-02")
    assert proposed(keeper, "electric").running["repairs_per_year"] < 365_00
    assert proposed(keeper, "petrol").running["repairs_per_year"] == 365_00


def test_the_year_closed_last_is_the_one_proposed(stranger: Member) -> None:
    for month, servicing in ((date(2025, 12, 1), "200.00"), (date(2026, 1, 1), "300.00")):
        GroupFigureFactory.create(month=month, span="year", servicing_per_year=servicing)
    assert proposed(stranger).running == MOT | {"servicing_per_year": 300_00}


@pytest.mark.parametrize(("month", "is_proposed"), [(date(2025, 2, 1), True), (date(2025, 1, 1), False)])
def test_a_year_without_running_costs_leaves_those_of_the_year_before(
    stranger: Member, month: date, is_proposed: bool
) -> None:
    # They are closed once a year, so that the last row mostly has none; a year after, they are too old.
    GroupFigureFactory.create(month=month, span="year", servicing_per_year="200.00")
    GroupFigureFactory.create(month=date(2026, 2, 1), span="year")
    proposal = proposed(stranger)
    assert ("servicing_per_year" in proposal.running) is is_proposed
    if is_proposed:
        assert proposal.sources["servicing_per_year"] == "the group’s rounded median, March 2024 to February 2025"


def test_a_minimum_raised_since_hides_the_groups_figures(stranger: Member) -> None:
    GroupFigureFactory.create(span="year", contributor_count=9, servicing_per_year="300.00")
    Cooperative.objects.update_or_create(id=1, defaults={"minimum_contributors": 6})
    assert proposed(stranger).running == MOT


def test_another_members_costs_are_no_part_of_it(colleague_car: Car, stranger: Member) -> None:
    CostEntryFactory.create(car=colleague_car, category="repairs", amount="365.00", paid_on="2025-06-02")
    assert proposed(stranger).running == MOT


def test_the_fee_of_great_britain_is_not_proposed_in_northern_ireland(stranger: Member) -> None:
    CooperativeFactory.create(nation="NI")
    assert proposed(stranger).running == {}


def test_what_was_saved_keeps_its_source_and_what_was_typed_is_typed_in() -> None:
    saved = Proposal({"mot": 5000, "repairs_per_year": 400_00}, {"mot": "old records", "repairs_per_year": "typed in"})
    here = Proposal({"mot": 54_85}, {"mot": "GOV.UK"})
    told = {"mot": 5000, "repairs_per_year": 400_00, "servicing_per_year": 260_00}
    result = running_of_offer(told=told, included=(), saved=saved, shown=here, proposed=here)
    assert result == Proposal(
        told, {"mot": "old records", "repairs_per_year": "typed in", "servicing_per_year": "typed in"}
    )
