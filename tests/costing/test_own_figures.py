"""A member's own figures over all their cars."""

from datetime import date
from decimal import Decimal

import pytest

from costing.core.records import Period
from costing.report import OwnFigures, car_reports, taken_together
from fleet.models import Car
from instructors.models import Member
from tests.factories import (
    CarFactory,
    CostEntryFactory,
    FillFactory,
    HireFactory,
    KeeperTimeFactory,
    TeachingRecordFactory,
)

FEBRUARY = Period(date(2026, 2, 1), date(2026, 2, 28))


def own_figures(member: Member, cars: list[Car], period: Period) -> OwnFigures:
    [figures] = taken_together(car_reports([period], cars=cars, member=member), 1)
    return figures


def use(car: Car) -> None:
    """1,000 miles and 50 lessons of two hours in February, for 500 pounds."""
    HireFactory.create(car=car)
    FillFactory.create(car=car, filled_on=date(2026, 1, 31), odometer=10_000, amount=0)
    FillFactory.create(car=car, filled_on=date(2026, 2, 28), odometer=11_000, amount=0)
    CostEntryFactory.create(car=car, paid_on=date(2026, 2, 10), amount=Decimal("500.00"))
    TeachingRecordFactory.create(
        car=car, from_on=FEBRUARY.first, to_on=FEBRUARY.last, lesson_count=50, minutes=6_000, private_miles=0
    )


def test_a_car_that_left_before_the_period_hides_nothing(car: Car, keeper: Member) -> None:
    use(car)
    left = CarFactory.create(keeper=keeper, in_service_to=date(2025, 12, 31))
    figures = own_figures(keeper, [car, left], FEBRUARY)
    assert (figures.cost_per_lesson_hour, figures.cost_per_lesson, figures.cost_per_mile) == (500, 1_000, 50)
    assert not any("QA" in reason for reason in figures.reasons)


def test_a_second_car_in_use_without_readings_leaves_the_figures_unknown(car: Car, keeper: Member) -> None:
    use(car)
    second = CarFactory.create(registration="QA51SEC", keeper=keeper)
    figures = own_figures(keeper, [car, second], FEBRUARY)
    assert figures.cost_per_lesson_hour is None
    assert "QA51 SEC: no odometer reading" in figures.reasons


def test_without_a_car_the_reason_is_said(stranger: Member) -> None:
    figures = own_figures(stranger, [], FEBRUARY)
    assert figures.reasons == ("you had no car in service then",)


@pytest.mark.parametrize("theirs", [["2026-02-03", "2026-02-10"], ["2026-02-10"]])
def test_whoever_takes_a_car_over_sees_nothing_of_what_it_burned_before(
    car: Car, colleague: Member, keeper: Member, theirs: list[str]
) -> None:
    for place, day in enumerate(theirs):
        FillFactory.create(car=car, member=keeper, filled_on=day, odometer=48_000 + 300 * place)
    KeeperTimeFactory.create(car=car, keeper=keeper, from_on=car.in_service_from, to_on="2026-02-15")
    KeeperTimeFactory.create(car=car, keeper=colleague, from_on="2026-02-16")
    car.keeper = colleague
    car.save()
    FillFactory.create(car=car, member=colleague, filled_on="2026-02-16", odometer=48_900)
    [[report]] = car_reports([FEBRUARY], cars=[car], member=colleague)
    assert report.mpg is None
    FillFactory.create(car=car, member=colleague, filled_on="2026-02-20", odometer=49_200, quantity="30.000")
    [[report]] = car_reports([FEBRUARY], cars=[car], member=colleague)
    # 300 miles on 30 litres, both brims their own; a litre is 0.219969 gallons.
    assert report.mpg == Decimal("45.46")
    # Nor does the one before see what the car burns now.
    [[report]] = car_reports([FEBRUARY], cars=[car], member=keeper)
    assert (report.mpg is None) is (len(theirs) == 1)
