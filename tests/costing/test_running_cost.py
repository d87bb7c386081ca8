"""`running_cost`: the table and the JSON of formats.md, to the penny."""

import json
from datetime import date
from decimal import Decimal
from io import StringIO
from typing import Any

import pytest
from django.core.management import call_command

from config.commands import DataSaysNo
from fleet.models import Car
from instructors.models import Member
from tests.factories import (
    CostEntryFactory,
    FillFactory,
    KeeperTimeFactory,
    TeachingRecordFactory,
    ValuationFactory,
)

FEBRUARY = ("--from", "2026-02-01", "--to", "2026-02-28")


def run(*arguments: str) -> Any:
    out = StringIO()
    call_command("running_cost", *arguments, "--json", stdout=out)
    return json.loads(out.getvalue())


@pytest.fixture
def taught(car: Car) -> Car:
    FillFactory.create(car=car, filled_on=date(2026, 1, 31), odometer=10_000, quantity=Decimal("30"))
    FillFactory.create(
        car=car,
        filled_on=date(2026, 2, 28),
        odometer=10_400,
        quantity=Decimal("38.20"),
        amount=Decimal("51.15"),
    )
    CostEntryFactory.create(
        car=car, category="insurance", paid_on=date(2026, 1, 1), amount=Decimal("365.00"),
        covers_from=date(2026, 1, 1), covers_to=date(2026, 12, 31),
    )  # fmt: skip
    TeachingRecordFactory.create(
        car=car,
        from_on=date(2026, 2, 1),
        to_on=date(2026, 2, 28),
        lesson_count=8,
        minutes=750,
        private_miles=100,
    )
    ValuationFactory.create(car=car, valued_on=date(2026, 1, 31), value=Decimal("8000.00"))
    ValuationFactory.create(car=car, valued_on=date(2026, 2, 28), value=Decimal("7900.00"))
    return car


def test_every_figure_of_a_car_is_given_as_the_formats_say(taught: Car) -> None:
    answer = run(*FEBRUARY)
    assert (answer["from"], answer["to"]) == ("2026-02-01", "2026-02-28")
    # 28 of 365 days of insurance, the fill of the 28th, a hundred pounds of value; 300 of 400 miles taught.
    assert answer["cars"] == [
        {
            "registration": taught.registration,
            "miles": 400,
            "private_miles": 100,
            "business_share": "0.7500",
            "lessons": 8,
            "lesson_hours": 12.5,
            "true_cost": "179.15",
            "by_category": {"depreciation": "100.00", "fuel": "51.15", "insurance": "28.00"},
            "money_out": "51.15",
            "cost_per_mile": "0.45",
            "cost_per_lesson_hour": "10.75",
            "cost_per_lesson": "16.80",
            "mpg": 47.6,
            "miles_per_kwh": None,
            "estimated": [],
            "missing": [],
            "known_until": "2026-02-28",
        }
    ]


def test_what_is_missing_is_null_with_its_reason(car: Car) -> None:
    CostEntryFactory.create(car=car, paid_on=date(2026, 2, 3), amount=Decimal("20.00"))
    [of_car] = run(*FEBRUARY)["cars"]
    assert of_car["true_cost"] == "20.00"
    for figure in (
        "miles",
        "business_share",
        "cost_per_mile",
        "cost_per_lesson_hour",
        "cost_per_lesson",
        "mpg",
    ):
        assert of_car[figure] is None
    assert "no odometer reading" in of_car["missing"]
    assert "no lessons logged" in of_car["missing"]


def test_months_add_up_to_the_year(taught: Car) -> None:
    ValuationFactory.create(car=taught, valued_on=date(2025, 12, 31), value=Decimal("8090.00"))
    days = [("2026-01-01", "2026-01-31"), ("2026-02-01", "2026-02-28"), ("2026-03-01", "2026-12-31")]
    parts = [run("--from", first, "--to", last)["cars"][0]["true_cost"] for first, last in days]
    whole = run("--from", "2026-01-01", "--to", "2026-12-31")["cars"][0]["true_cost"]
    assert sum(map(Decimal, parts)) == Decimal(whole)


def test_a_car_is_found_by_its_mark_however_it_is_typed(taught: Car, colleague_car: Car) -> None:
    assert [of_car["registration"] for of_car in run(*FEBRUARY, "--car", "qa51 abc")["cars"]] == ["QA51ABC"]
    assert len(run(*FEBRUARY)["cars"]) == 2


def test_lessons_in_a_car_out_of_service_are_named(taught: Car) -> None:
    Car.objects.filter(pk=taught.pk).update(in_service_to=date(2026, 2, 28))
    TeachingRecordFactory.create(
        car=taught, from_on=date(2026, 4, 6), to_on=date(2026, 4, 6), lesson_count=2, minutes=120, private_miles=0
    )
    [of_car] = run("--from", "2026-04-01", "--to", "2026-04-30")["cars"]
    assert (of_car["lessons"], of_car["cost_per_lesson_hour"]) == (0, None)
    left_out = "lessons from 6 April 2026 were given while the car was not in service, and are left out"
    assert left_out in of_car["missing"]


def test_a_members_own_figures_are_of_their_own_time_and_money(taught: Car, colleague: Member) -> None:
    """Handed over on the evening of the 10th: of £28.00 of the keeper's policy, all that is left is theirs that day."""
    KeeperTimeFactory.create(car=taught, keeper=taught.keeper, from_on=date(2024, 1, 8), to_on=date(2026, 2, 10))
    KeeperTimeFactory.create(car=taught, keeper=colleague, from_on=date(2026, 2, 11))
    giver = taught.keeper
    Car.objects.filter(pk=taught.pk).update(keeper=colleague)
    CostEntryFactory.create(car=taught, member=colleague, paid_on=date(2026, 2, 12), amount=Decimal("20.00"))

    own = run(*FEBRUARY, "--member", giver.email)
    # 365 - 31 days of insurance are left on 1 February; the fill of the 28th counts on the last day too.
    # The value of 28 February is the colleague’s: ten days at 15% a year.
    assert own["cars"][0]["by_category"] == {"depreciation": "35.54", "fuel": "51.15", "insurance": "334.00"}
    assert own["together"] == {key: own["cars"][0][key] for key in own["together"]}
    taken = run(*FEBRUARY, "--member", colleague.email)
    assert taken["cars"][0]["by_category"] == {"repairs": "20.00"}
    assert taken["together"]["true_cost"] == "20.00"


def test_an_address_of_nobody_is_refused(taught: Car) -> None:
    with pytest.raises(DataSaysNo, match="no member"):
        run(*FEBRUARY, "--member", "nobody@book.example")


def test_a_car_that_had_left_and_cost_nothing_is_not_listed(taught: Car, colleague_car: Car) -> None:
    Car.objects.filter(pk=colleague_car.pk).update(in_service_to=date(2026, 1, 31))
    assert len(run(*FEBRUARY)["cars"]) == 1


@pytest.mark.parametrize(
    ("arguments", "reason"),
    [
        ((*FEBRUARY, "--car", "QA99ZZZ"), "No car has the registration mark QA99 ZZZ"),
        (("--from", "2026-02-02", "--to", "2026-02-01"), "before it begins"),
    ],
)
def test_what_the_data_cannot_answer_is_said_plainly(car: Car, arguments: tuple[str, ...], reason: str) -> None:
    with pytest.raises(DataSaysNo, match=reason):
        run(*arguments)


def test_the_table_says_what_is_missing_and_what_is_estimated(taught: Car) -> None:
    out = StringIO()
    call_command("running_cost", "--from", "2026-02-01", "--to", "2026-03-05", stdout=out)
    table = out.getvalue()
    assert "QA51 ABC" in table
    assert "~£" in table
    assert "no odometer reading after 28 February 2026" in table
