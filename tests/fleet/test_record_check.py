"""The action that writes down a look round a car: what the book does not allow."""

from datetime import date
from typing import Any

import pytest
from django.core.exceptions import ValidationError

from config import budgets
from fleet.actions import PointFault, record_check
from fleet.models import Car, Defect, WalkaroundCheck
from tests.factories import CheckPointFactory, DefectFactory

pytestmark = pytest.mark.usefixtures("today")

LOOK: dict[str, Any] = {"ref": "check-1", "checked_on": date(2026, 3, 16), "points": ["horn", "lamps"]}


@pytest.mark.parametrize(
    ("change", "field", "why"),
    [
        ({"points": []}, "points", "Nothing was looked at."),
        ({"points": ["horn", "wings"]}, "points", "One of these points is no longer in use: open the page anew."),
        (
            {"faults": [PointFault("brakes", "watch", "soft")]},
            "points",
            "What is wrong must be among what was looked at.",
        ),
        ({"checked_on": date(2026, 3, 17)}, "checked_on", "17 March 2026 is yet to come."),
        ({"note": "x" * 501}, "note", "Ensure this value has at most 500 characters (it has 501)."),
        ({"faults": [PointFault("horn", "grave")]}, "severity", "Value 'grave' is not a valid choice."),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_written(
    car: Car, change: dict[str, Any], field: str, why: str
) -> None:
    with pytest.raises(ValidationError) as refusal:
        record_check(by=car.keeper, car=car, **LOOK | change)
    assert refusal.value.message_dict == {field: [why]}
    assert not WalkaroundCheck.objects.exists()
    assert not Defect.objects.exists()


def test_a_retired_point_is_still_one_of_the_days_before(car: Car) -> None:
    own = CheckPointFactory(retired_on=date(2026, 3, 12))
    look = LOOK | {"points": [own.name]}
    check, _ = record_check(by=car.keeper, car=car, **look | {"checked_on": date(2026, 3, 11)})
    assert check.points == [own.name]
    with pytest.raises(ValidationError):
        record_check(by=car.keeper, car=car, **look | {"ref": "check-2", "checked_on": date(2026, 3, 12)})


def test_points_are_kept_once_each_in_the_order_of_the_walk(car: Car) -> None:
    check, is_new = record_check(by=car.keeper, car=car, **LOOK | {"points": ["horn", "lamps", "horn"]})
    assert is_new
    assert check.points == ["lamps", "horn"]


def test_a_reference_sent_before_gives_back_the_first_whatever_else_is_said(car: Car, colleague_car: Car) -> None:
    first, _ = record_check(by=car.keeper, car=car, **LOOK)
    again = record_check(by=car.keeper, car=colleague_car, **LOOK | {"points": ["brakes"]})
    assert again == (first, False)
    assert WalkaroundCheck.objects.get().points == ["lamps", "horn"]


def test_with_too_many_open_defects_a_check_that_finds_more_is_not_written(car: Car) -> None:
    DefectFactory.create_batch(budgets.OPEN_DEFECTS - 1, car=car)
    faults = [PointFault("horn", "watch"), PointFault("lamps", "watch")]
    with pytest.raises(ValidationError, match="This car has 100 open defects in the book"):
        record_check(by=car.keeper, car=car, **LOOK, faults=faults)
    assert not WalkaroundCheck.objects.exists()
    assert Defect.objects.count() == budgets.OPEN_DEFECTS - 1
    record_check(by=car.keeper, car=car, **LOOK, faults=faults[:1])
