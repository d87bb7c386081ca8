"""The page on which a car is entered."""

from datetime import date

import pytest
from django.test import Client
from django.urls import reverse

from fleet.actions import add_car
from fleet.forms import CarForm
from fleet.models import Car, OdometerReading
from instructors.models import Member
from tests.costing.pages import input_value, text_of
from tests.factories import CarFactory, MemberFactory

ADD = reverse("fleet:car-add")
TYPED = {
    "registration": "qc 03-def",
    "description": "Red hatchback",
    "fuel": "petrol",
    "transmission": "manual",
    "first_registered": "2022-05-09",
    "in_service_from": "2026-03-02",
    "odometer": "31,250",
    "dual_controls": "on",
}

pytestmark = pytest.mark.usefixtures("today")


def test_a_member_enters_a_car_that_they_keep(everyone: dict[str, Client], stranger: Member) -> None:
    response = everyone["stranger"].post(ADD, TYPED)
    assert response.url == reverse("fleet:car", args=["QC03DEF"])
    car = Car.objects.get()
    assert (car.keeper, car.registration, car.fuel, car.transmission) == (stranger, "QC03DEF", "petrol", "manual")
    assert (car.first_registered, car.in_service_from) == (date(2022, 5, 9), date(2026, 3, 2))
    assert (car.dual_controls, car.soft_top) == (True, False)
    assert car.history.get().history_user == stranger


def test_the_odometer_is_that_of_the_first_day(everyone: dict[str, Client]) -> None:
    everyone["stranger"].post(ADD, TYPED)
    reading = OdometerReading.objects.get()
    assert (reading.car.registration, reading.read_on, reading.miles) == ("QC03DEF", date(2026, 3, 2), 31_250)


def test_of_a_car_that_comes_later_the_odometer_is_that_of_today(everyone: dict[str, Client]) -> None:
    everyone["stranger"].post(ADD, TYPED | {"in_service_from": "2026-05-01"})
    assert OdometerReading.objects.get().read_on == date(2026, 3, 16)


def test_without_an_odometer_no_reading_is_made_up(everyone: dict[str, Client]) -> None:
    everyone["stranger"].post(ADD, TYPED | {"odometer": ""})
    assert Car.objects.exists()
    assert not OdometerReading.objects.exists()


def test_sent_twice_it_is_entered_once(everyone: dict[str, Client]) -> None:
    for _ in range(2):
        assert everyone["stranger"].post(ADD, TYPED).status_code == 303
    assert Car.objects.get().history.count() == 1
    assert OdometerReading.objects.count() == 1


@pytest.mark.parametrize("who", ["keeper", "stranger"])
def test_a_mark_in_the_book_is_refused_without_saying_whose_it_is(
    everyone: dict[str, Client], colleague_car: Car, who: str
) -> None:
    response = everyone[who].post(ADD, TYPED | {"registration": "QB02 XYZ"})
    assert "QB02 XYZ is in the book already." in text_of(response)
    assert colleague_car.keeper.name not in response.content.decode()
    assert input_value(response.content.decode(), "description") == "Red hatchback"
    assert Car.objects.get() == colleague_car


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({"registration": ""}, "registration", "Write it as on the number plate"),
        ({"registration": "Q"}, "registration", "as in QA51 ABC"),
        ({"registration": "QA51 ÄBC"}, "registration", "as in QA51 ABC"),
        ({"fuel": ""}, "fuel", "Choose one."),
        ({"in_service_from": "2022-05-08"}, "first_registered", "was in use from 8 May 2022"),
        ({"first_registered": "2026-03-17"}, "first_registered", "has not come yet"),
        ({"odometer": "31.5"}, "odometer", "is not a whole number"),
    ],
)
def test_what_cannot_be_is_refused_beside_its_field_and_all_typed_is_kept(
    everyone: dict[str, Client], changes: dict[str, str], field: str, words: str
) -> None:
    response = everyone["stranger"].post(ADD, TYPED | changes)
    page = response.content.decode()
    assert words in text_of(response)
    assert f'id="id_{field}_error"' in page
    assert input_value(page, "description") == "Red hatchback"
    assert not Car.objects.exists()


def test_a_coordinator_says_who_keeps_it(everyone: dict[str, Client], stranger: Member) -> None:
    assert "Choose one of the members." in text_of(everyone["coordinator"].post(ADD, TYPED | {"keeper": "999999"}))
    everyone["coordinator"].post(ADD, TYPED | {"keeper": str(stranger.pk)})
    assert Car.objects.get().keeper == stranger


def test_a_member_can_name_nobody_else(everyone: dict[str, Client], keeper: Member, stranger: Member) -> None:
    assert 'name="keeper"' not in everyone["keeper"].get(ADD).content.decode()
    everyone["keeper"].post(ADD, TYPED | {"keeper": str(stranger.pk)})
    assert Car.objects.get().keeper == keeper
    terms = {"registration": "QC04DEF", "fuel": "petrol", "in_service_from": date(2026, 3, 2)}
    with pytest.raises(PermissionError):
        add_car(by=keeper, keeper=stranger, **terms)


def test_somebody_not_signed_in_is_sent_to_sign_in(everyone: dict[str, Client]) -> None:
    assert everyone["anonymous"].post(ADD, TYPED).url.startswith(reverse("account_login"))
    assert not Car.objects.exists()


@pytest.mark.parametrize("who", ["keeper", "colleague", "coordinator", "stranger"])
def test_the_list_of_cars_leads_here(everyone: dict[str, Client], who: str) -> None:
    CarFactory()
    assert ADD in everyone[who].get(reverse("fleet:car-list")).content.decode()
    assert everyone[who].get(ADD).status_code == 200


def test_the_only_member_is_chosen_as_keeper_already(db: None, today: date) -> None:
    one, other = MemberFactory(), MemberFactory()
    assert CarForm(today=today, keepers=[one])["keeper"].value() == one.pk
    assert CarForm(today=today, keepers=[one, other])["keeper"].value() is None
