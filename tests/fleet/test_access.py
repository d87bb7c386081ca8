"""The permission-aware getters, asked by the whole cast."""

from datetime import date

import pytest
from django.http import Http404

from fleet.models import Car, DueItem
from fleet.queries import car_for, cars_of, cars_visible_to, due_item_for
from instructors.models import Member
from tests.factories import CarFactory, DueItemFactory

pytestmark = pytest.mark.django_db


def test_a_member_sees_their_own_cars_and_a_coordinator_all(
    car: Car, colleague_car: Car, keeper: Member, colleague: Member, coordinator: Member, stranger: Member
) -> None:
    assert list(cars_visible_to(keeper)) == [car]
    assert list(cars_visible_to(colleague)) == [colleague_car]
    assert list(cars_visible_to(coordinator)) == [car, colleague_car]
    assert list(cars_visible_to(stranger)) == []


def test_a_car_is_found_however_its_mark_is_typed(car: Car, keeper: Member) -> None:
    assert car_for(keeper, "qa51 abc") == car


def test_somebody_elses_car_is_not_there(car: Car, colleague: Member, stranger: Member, coordinator: Member) -> None:
    for member in (colleague, stranger):
        with pytest.raises(Http404):
            car_for(member, car.registration)
    assert car_for(coordinator, car.registration) == car


def test_a_due_item_of_a_car_is_its_keepers_and_the_coordinators(
    car: Car, keeper: Member, colleague: Member, stranger: Member, coordinator: Member
) -> None:
    item = DueItemFactory.create(car=car)
    assert due_item_for(keeper, item.pk) == item
    assert due_item_for(coordinator, item.pk) == item
    for member in (colleague, stranger):
        with pytest.raises(Http404):
            due_item_for(member, item.pk)


def test_a_credential_is_its_owners_and_the_coordinators(
    keeper: Member, colleague: Member, coordinator: Member
) -> None:
    item = DueItemFactory.create(car=None, member=keeper, kind="adi_registration")
    assert due_item_for(keeper, item.pk) == item
    assert due_item_for(coordinator, item.pk) == item
    with pytest.raises(Http404):
        due_item_for(colleague, item.pk)


def test_a_closed_item_is_not_there_any_more(car: Car, keeper: Member) -> None:
    item = DueItemFactory.create(car=car, closed_on=date(2026, 3, 1))
    with pytest.raises(Http404):
        due_item_for(keeper, item.pk)
    assert DueItem.objects.get() == item


def test_cars_of_a_member_can_be_those_in_service(car: Car, keeper: Member, today: date) -> None:
    gone = CarFactory.create(registration="QA51OLD", keeper=keeper, in_service_to=date(2026, 3, 15))
    last_day = CarFactory.create(registration="QA51SUN", keeper=keeper, in_service_to=today)
    assert cars_of(keeper) == [car, gone, last_day]
    assert cars_of(keeper, today) == [car, last_day]
