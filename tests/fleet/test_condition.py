"""What is recorded of the cars' condition, as far as it may keep them off the road."""

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest

from fleet.core.defects import Severity
from fleet.core.due import DayUnknown
from fleet.core.readiness import NOTHING_WRONG, Condition
from fleet.models import Car
from fleet.queries import conditions_of, treads_of
from tests.factories import (
    CarFactory,
    ConfirmationFactory,
    DefectFactory,
    TreadReadingFactory,
    TyreMoveFactory,
)

pytestmark = pytest.mark.django_db

TODAY = date(2026, 3, 16)
YESTERDAY = TODAY - timedelta(days=1)


def condition(car: Car, on: date = TODAY) -> Condition:
    return conditions_of([car], on)[car.pk]


def test_a_car_of_which_nothing_is_recorded_has_nothing_wrong_and_no_cover_confirmed(car: Car) -> None:
    unconfirmed = NOTHING_WRONG._replace(doubts={"insurance": DayUnknown.TUITION_NOT_CONFIRMED})
    assert condition(car) == unconfirmed
    assert conditions_of([], TODAY) == {}


def test_open_defects_count_from_the_day_they_were_found_oldest_first(car: Car, colleague_car: Car) -> None:
    later = DefectFactory.create(car=car, found_on=TODAY, severity="dangerous")
    early = DefectFactory.create(car=car, found_on=YESTERDAY, state="in_hand")
    DefectFactory.create(car=car, found_on=YESTERDAY, state="closed", closed_on=TODAY)
    DefectFactory.create(car=colleague_car)
    assert [defect.key for defect in condition(car).defects] == [early.pk, later.pk]
    assert [defect.key for defect in condition(car, YESTERDAY).defects] == [early.pk]
    assert condition(car).defects[1].severity is Severity.DANGEROUS


@pytest.mark.parametrize(("lowest", "is_unlawful"), [("1.5", True), ("1.6", False)])
@pytest.mark.parametrize("band", ["inner", "centre", "outer"])
def test_the_lowest_of_a_wheels_bands_governs(car: Car, band: str, lowest: str, is_unlawful: bool) -> None:
    TreadReadingFactory.create(car=car, **{band: Decimal(lowest)})
    treads = condition(car).unlawful_treads
    assert [depth.wheel for depth in treads] == (["front_left"] if is_unlawful else [])


def test_a_later_reading_or_another_tyre_at_the_wheel_clears_it(car: Car) -> None:
    TreadReadingFactory.create(car=car, read_on=date(2026, 3, 2), inner=Decimal("1.5"))
    TyreMoveFactory.create(car=car, moved_on=YESTERDAY)
    assert not condition(car).unlawful_treads
    assert condition(car, date(2026, 3, 14)).unlawful_treads


def test_an_unlawful_tyre_is_unlawful_at_whichever_wheel_it_is_now(car: Car) -> None:
    TreadReadingFactory.create(car=car, read_on=date(2026, 3, 2), inner=Decimal("1.5"))
    TyreMoveFactory.create(car=car, moved_on=YESTERDAY, wheel="rear_left", came_from="front_left")
    TyreMoveFactory.create(car=car, moved_on=YESTERDAY, wheel="front_left", came_from="rear_left")
    wheels = [depth.wheel for depth in condition(car).unlawful_treads]
    assert wheels == ["rear_left"]


@pytest.mark.parametrize(
    ("answers", "uncovered_on"),
    [
        ([(date(2026, 2, 1), False)], date(2026, 2, 1)),
        ([(date(2026, 2, 1), False), (date(2026, 3, 1), True)], None),
        ([(date(2026, 2, 1), True), (date(2026, 3, 1), False)], date(2026, 3, 1)),
        ([(date(2026, 3, 17), False)], None),
    ],
)
def test_the_latest_word_on_tuition_cover_governs(car: Car, answers: list[Any], uncovered_on: date | None) -> None:
    for day, is_met in answers:
        ConfirmationFactory.create(car=car, confirmed_on=day, is_met=is_met)
    ConfirmationFactory.create(car=car, point="something_else", is_met=False)
    assert condition(car).no_tuition_cover_on == uncovered_on


def test_a_policy_counts_for_the_grade_that_it_was_found_to_cover(car: Car) -> None:
    ConfirmationFactory.create(car=car, grade="PDI")
    assert condition(car).doubts == {"insurance": DayUnknown.TUITION_NOT_CONFIRMED}
    ConfirmationFactory.create(car=car, confirmed_on=TODAY)
    assert condition(car, YESTERDAY).doubts == {"insurance": DayUnknown.TUITION_NOT_CONFIRMED}
    assert condition(car).doubts == {}


def test_treads_are_given_with_every_reading_and_move_up_to_the_day(car: Car) -> None:
    TreadReadingFactory.create(car=car, read_on=YESTERDAY)
    TreadReadingFactory.create(car=car, read_on=TODAY)
    TyreMoveFactory.create(car=car, moved_on=TODAY)
    depths, moves = treads_of([car.pk], YESTERDAY)[car.pk]
    assert ([depth.read_on for depth in depths], moves) == ([YESTERDAY], [])
    assert len(treads_of([car.pk], TODAY)[car.pk][1]) == 1


def test_one_query_serves_all_cars(django_assert_num_queries: Any) -> None:
    cars = CarFactory.create_batch(6)
    for car in cars:
        DefectFactory.create(car=car)
        TreadReadingFactory.create(car=car, inner=Decimal("1.5"))
        ConfirmationFactory.create(car=car, is_met=False)
    with django_assert_num_queries(1):
        conditions = conditions_of(cars, TODAY)
    assert all(condition.defects and condition.unlawful_treads for condition in conditions.values())
