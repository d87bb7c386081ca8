"""The weekly pot, where what repeats was paid by hand before its day."""

from datetime import timedelta

import pytest

from costing.planning.report import pot_report
from fleet.models import Car
from tests.conftest import TODAY
from tests.factories import CostEntryFactory, RepeatFactory

pytestmark = pytest.mark.usefixtures("today")

DUE = TODAY + timedelta(days=4)


def days_of(car: Car, title: str) -> list[str]:
    bills = pot_report(car.keeper, TODAY).bills.known
    return [bill.on.isoformat() for bill in bills if bill.title == title]


@pytest.mark.parametrize(("category", "title"), [("insurance", "Insurance"), ("cleaning", "Cleaning")])
def test_what_was_paid_by_hand_before_its_day_is_no_bill(car: Car, category: str, title: str) -> None:
    RepeatFactory(car=car, category=category, amount="80.00", starts_on=DUE, interval="year", made_until=None)
    assert days_of(car, title) == [DUE.isoformat()]
    CostEntryFactory(car=car, category=category, amount="80.00", paid_on=TODAY - timedelta(days=1))
    assert days_of(car, title) == []


def test_only_the_payment_whose_day_is_nearest_is_met(car: Car) -> None:
    RepeatFactory(car=car, category="vehicle_tax", amount="17.06", starts_on=TODAY, interval="month", made_until=None)
    before = days_of(car, "Vehicle tax")
    assert len(before) == 12
    CostEntryFactory(car=car, category="vehicle_tax", amount="17.06", paid_on=TODAY - timedelta(days=2))
    assert days_of(car, "Vehicle tax") == before[1:]


@pytest.mark.parametrize("paid", [{"amount": "86.00"}, {"paid_on": DUE - timedelta(days=6)}])
def test_another_sum_or_a_day_far_from_it_meets_nothing(car: Car, paid: dict[str, object]) -> None:
    RepeatFactory(car=car, category="cleaning", amount="80.00", starts_on=DUE, interval="year", made_until=None)
    CostEntryFactory(car=car, category="cleaning", **{"amount": "80.00", "paid_on": TODAY} | paid)
    assert days_of(car, "Cleaning") == [DUE.isoformat()]
