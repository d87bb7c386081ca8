"""The page /cars/: which cars are fit for lessons, and what falls due on them."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from fleet.models import Car, DueKind
from instructors.models import Member
from tests.factories import (
    CarFactory,
    CoordinatorFactory,
    DueItemFactory,
    MemberFactory,
    OdometerReadingFactory,
)

CARS = reverse("fleet:car-list")
LATER = date(2026, 10, 3)

pytestmark = pytest.mark.usefixtures("today")


def covered(car: Car, **days: date) -> Car:
    """The car with MOT, vehicle tax and insurance in the book, all far off unless told otherwise."""
    for kind in (DueKind.MOT, DueKind.VEHICLE_TAX, DueKind.INSURANCE):
        DueItemFactory(car=car, kind=kind, due_on=days.get(kind.value, LATER))
    return car


def text_of(response: Any) -> str:
    return " ".join(response.content.decode().split())


def test_who_is_not_signed_in_is_sent_to_sign_in(everyone: dict[str, Client]) -> None:
    response = everyone["anonymous"].get(CARS)
    assert response.status_code == 302
    assert response.url.startswith(reverse("account_login"))


@pytest.mark.parametrize(
    ("who", "sees"),
    [
        ("coordinator", {"QA51 ABC", "QB02 XYZ"}),
        ("keeper", {"QA51 ABC"}),
        ("colleague", {"QB02 XYZ"}),
        ("stranger", set()),
    ],
)
def test_a_coordinator_sees_all_cars_and_a_member_the_own(
    everyone: dict[str, Client], car: Car, colleague_car: Car, who: str, sees: set[str]
) -> None:
    page = text_of(everyone[who].get(CARS))
    assert {mark for mark in ("QA51 ABC", "QB02 XYZ") if mark in page} == sees


def test_a_member_does_not_see_other_members_names(
    everyone: dict[str, Client], car: Car, colleague_car: Car, colleague: Member
) -> None:
    assert colleague.name not in text_of(everyone["keeper"].get(CARS))
    assert colleague.name in text_of(everyone["coordinator"].get(CARS))


def test_cars_off_the_road_come_first_with_the_reasons_in_words(everyone: dict[str, Client]) -> None:
    covered(CarFactory(registration="QC03AAA"), mot=date(2026, 3, 17))
    covered(CarFactory(registration="QD04BBB"), insurance=date(2026, 3, 15), vehicle_tax=date(2026, 2, 28))
    response = everyone["coordinator"].get(CARS)
    assert [row.car.registration for row in response.context["rows"]] == ["QD04BBB", "QC03AAA"]
    page = text_of(response)
    assert "Vehicle tax ran out on 28 February 2026; Insurance ran out on 15 March 2026" in page
    assert page.count('class="state state-off"') == 1
    assert "1 off the road." in page


def test_the_others_follow_by_what_presses_most(everyone: dict[str, Client]) -> None:
    covered(CarFactory(registration="QC03AAA"))
    covered(CarFactory(registration="QD04BBB"), mot=date(2026, 3, 23))
    covered(CarFactory(registration="QE05CCC"), insurance=date(2026, 3, 17))
    CarFactory(registration="QF06DDD")  # nothing recorded: unknown, which is not fine
    response = everyone["coordinator"].get(CARS)
    marks = [row.car.registration for row in response.context["rows"]]
    assert marks == ["QF06DDD", "QE05CCC", "QD04BBB", "QC03AAA"]
    page = text_of(response)
    assert "MOT 23 March 2026, in 7 days" in page
    assert "Insurance 17 March 2026, tomorrow" in page
    assert "MOT: nothing is recorded, and 2 more" in page


def test_the_state_is_told_by_word_and_shape(everyone: dict[str, Client], car: Car) -> None:
    covered(car, mot=date(2026, 3, 23))
    assert '<span class="state state-due">Due soon</span>' in text_of(everyone["keeper"].get(CARS))


def test_the_booked_day_is_told(everyone: dict[str, Client], car: Car) -> None:
    covered(car)
    DueItemFactory(car=car, kind=DueKind.DUAL_CONTROLS, due_on=date(2026, 3, 30), booked_for=date(2026, 3, 20))
    words = "Dual controls inspection 30 March 2026, in 14 days, booked for 20 March 2026"
    assert words in text_of(everyone["keeper"].get(CARS))


def test_a_day_that_is_today_is_still_good(everyone: dict[str, Client], car: Car) -> None:
    covered(car, mot=date(2026, 3, 16))
    page = text_of(everyone["keeper"].get(CARS))
    assert "MOT 16 March 2026, today" in page
    assert "state-off" not in page


def test_cars_out_of_service_stand_behind_a_link(everyone: dict[str, Client], keeper: Member) -> None:
    CarFactory(registration="QC03AAA", keeper=keeper, in_service_to=date(2026, 3, 15))
    CarFactory(registration="QD04BBB", keeper=keeper, in_service_to=date(2026, 3, 16))
    page = text_of(everyone["keeper"].get(CARS))
    assert "QC03 AAA" not in page
    assert "QD04 BBB" in page
    assert "Show cars out of service (1)" in page
    page = text_of(everyone["keeper"].get(CARS, {"out-of-service": "1"}))
    assert "QC03 AAA" in page
    assert "In service until 15 March 2026" in page


def test_a_coordinator_is_told_of_credentials_that_press(
    everyone: dict[str, Client], keeper: Member, colleague: Member
) -> None:
    DueItemFactory(car=None, member=keeper, kind=DueKind.ADI_REGISTRATION, due_on=date(2026, 6, 1))
    DueItemFactory(car=None, member=colleague, kind=DueKind.DRIVING_LICENCE, due_on=date(2031, 6, 1))
    page = text_of(everyone["coordinator"].get(CARS))
    assert "ADI registration 1 June 2026, in 77 days" in page
    assert "Driving licence photocard" not in page
    assert "ADI registration" not in text_of(everyone["colleague"].get(CARS))


@pytest.mark.parametrize(("who", "words"), [("coordinator", "Add a car"), ("stranger", "You keep no car yet")])
def test_an_empty_book_says_what_to_do_first(everyone: dict[str, Client], who: str, words: str) -> None:
    assert words in text_of(everyone[who].get(CARS))


def test_the_number_of_queries_does_not_grow_with_the_cars(
    db: None, client_of: Callable[[Member], Client], django_assert_max_num_queries: Any
) -> None:
    for number in range(50):
        car = covered(CarFactory(keeper=MemberFactory()), mot=LATER + timedelta(days=number))
        DueItemFactory(car=car, kind=DueKind.SERVICE, due_on=None, due_miles=30_000)
        OdometerReadingFactory(car=car)
        DueItemFactory(car=None, member=car.keeper, kind=DueKind.ADI_REGISTRATION, due_on=date(2026, 4, 1))
    client = client_of(CoordinatorFactory())
    with django_assert_max_num_queries(16):
        page = client.get(CARS).content.decode()
    assert page.count('class="list-title mark"') == 50
    assert len(page) < 80_000  # compact enough for a phone on a weak signal
