"""Who kept a car from when to when, as its history tells."""

from datetime import UTC, date, datetime, timedelta

import pytest
import time_machine

from fleet.actions import transfer_car
from fleet.models import Car
from fleet.queries import has_kept, keepers_since, keeperships_of, took_over_on
from instructors.models import Member
from tests.fleet.keepers import hand_on

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today")]
FIRST, BACK = date(2026, 4, 2), date(2026, 5, 7)


def test_a_car_that_was_always_theirs_has_no_limit(car: Car, keeper: Member) -> None:
    car.description = "Something else"
    car.save()
    assert keeperships_of(car) == [(keeper.pk, None, None)]
    assert (took_over_on(car), has_kept(car, keeper, date(1999, 1, 1))) == (None, True)


def test_a_loan_is_two_handovers(car: Car, keeper: Member, colleague: Member, coordinator: Member) -> None:
    hand_on(car, colleague, FIRST, coordinator)
    assert took_over_on(car) == FIRST
    hand_on(car, keeper, BACK, coordinator)
    assert keeperships_of(car) == [(keeper.pk, None, FIRST), (colleague.pk, FIRST, BACK), (keeper.pk, BACK, None)]
    assert keepers_since(car) == keepers_since(car, BACK) == sorted([keeper, colleague], key=lambda one: one.pk)
    assert keepers_since(car, BACK + timedelta(days=1)) == [keeper]
    assert [has_kept(car, colleague, FIRST + timedelta(days=days)) for days in (-1, 0, 35, 36)] == [
        *(False, True, True, False)
    ]


def test_a_car_handed_to_somebody_and_back_on_one_day_was_never_away(
    car: Car, keeper: Member, colleague: Member, stranger: Member, coordinator: Member
) -> None:
    for to in (colleague, keeper):
        hand_on(car, to, FIRST, coordinator)
    assert keeperships_of(car) == [(keeper.pk, None, None)]
    for to in (colleague, stranger):
        hand_on(car, to, BACK, coordinator)
    assert keeperships_of(car) == [(keeper.pk, None, BACK), (stranger.pk, BACK, None)]


def test_the_day_of_a_handover_is_the_one_in_london(car: Car, colleague: Member, coordinator: Member) -> None:
    with time_machine.travel(datetime(2026, 7, 1, 23, 30, tzinfo=UTC), tick=False):
        transfer_car(by=coordinator, car=car, keeper=colleague)
    assert took_over_on(car) == date(2026, 7, 2)
