"""A coordinator's one-tap reminder to the keeper of a car."""

import re
from datetime import date
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from fleet.models import Car, MailKind, ReminderMail
from instructors.models import Member, Role
from tests.factories import CarFactory, CoordinatorFactory, DefectFactory, DueItemFactory, MemberFactory

pytestmark = pytest.mark.usefixtures("today")

CARS = reverse("fleet:car-list")
HTMX = {"HX-Request": "true"}


def remind(car: Car) -> str:
    return reverse("fleet:car-remind", args=[car.registration])


def text_of(response: Any) -> str:
    return " ".join(response.content.decode().split())


def nothing_due_on(car: Car) -> Car:
    for kind in ("mot", "vehicle_tax", "insurance"):
        DueItemFactory(car=car, kind=kind, due_on=date(2026, 10, 3))
    return car


@pytest.mark.parametrize("who", ["keeper", "colleague", "stranger"])
def test_only_a_coordinator_may_ask_for_it(everyone: dict[str, Client], car: Car, who: str) -> None:
    for headers in ({}, HTMX):
        assert everyone[who].post(remind(car), headers=headers).status_code == 404
    assert not ReminderMail.objects.exists()


def test_somebody_not_signed_in_is_sent_to_sign_in(everyone: dict[str, Client], car: Car) -> None:
    assert everyone["anonymous"].post(remind(car)).url.startswith(reverse("account_login"))
    assert everyone["anonymous"].post(remind(car), headers=HTMX).headers["HX-Redirect"].startswith("/account/login/")


def test_following_a_link_sends_nothing(everyone: dict[str, Client], car: Car) -> None:
    assert everyone["coordinator"].get(remind(car)).status_code == 405
    assert not ReminderMail.objects.exists()


def test_the_keeper_is_sent_one_mail_however_often_it_is_asked_for(
    everyone: dict[str, Client], car: Car, keeper: Member, coordinator: Member, today: date
) -> None:
    for words in ("Wren Applegarth is being reminded", "reminded today. Once a day is enough"):
        response = everyone["coordinator"].post(remind(car))
        assert (response.status_code, response.url) == (303, CARS)
        assert words in text_of(everyone["coordinator"].get(CARS))
    mail = ReminderMail.objects.get()
    assert (mail.recipient, mail.day, mail.kind, mail.asked_by) == (keeper, today, MailKind.ASKED, coordinator)


def test_with_htmx_the_button_turns_into_words(everyone: dict[str, Client], car: Car) -> None:
    for _ in range(2):
        response = everyone["coordinator"].post(remind(car), headers=HTMX)
        assert response.status_code == 200
        assert "Reminded today" in text_of(response)
        assert "<form" not in text_of(response)
        assert "<html" not in text_of(response)
    assert ReminderMail.objects.count() == 1


def test_another_coordinator_is_told_who_asked(everyone: dict[str, Client], client_of: Any, car: Car) -> None:
    everyone["coordinator"].post(remind(car))
    other = client_of(CoordinatorFactory())
    assert "Reminded today by Zdzisława Łąkowska" in text_of(other.get(CARS))
    assert "Reminded today by Zdzisława Łąkowska" in text_of(other.post(remind(car), headers=HTMX))
    assert ReminderMail.objects.count() == 1


def test_of_two_cars_the_keeper_is_reminded_at_once(everyone: dict[str, Client], car: Car, keeper: Member) -> None:
    CarFactory(registration="QA52DEF", keeper=keeper)
    everyone["coordinator"].post(remind(car))
    page = text_of(everyone["coordinator"].get(CARS))
    assert page.count("Reminded today") == 2 * 2  # in the table of a desk, and among the cars on a phone
    assert "/remind/" not in page


def test_the_next_day_it_may_be_asked_for_again(everyone: dict[str, Client], car: Car, keeper: Member) -> None:
    ReminderMail.objects.create(recipient=keeper, day=date(2026, 3, 15), kind=MailKind.ASKED)
    assert remind(car) in text_of(everyone["coordinator"].get(CARS))
    everyone["coordinator"].post(remind(car))
    assert ReminderMail.objects.filter(kind=MailKind.ASKED).count() == 2


def test_it_is_not_offered_where_nothing_presses(everyone: dict[str, Client], car: Car) -> None:
    nothing_due_on(car)
    assert remind(car) not in text_of(everyone["coordinator"].get(CARS))
    assert everyone["coordinator"].post(remind(car)).status_code == 404
    DefectFactory(car=car)
    assert remind(car) in text_of(everyone["coordinator"].get(CARS))
    assert everyone["coordinator"].post(remind(car)).status_code == 303


def test_nobody_reminds_themselves(everyone: dict[str, Client], coordinator: Member) -> None:
    own = CarFactory(keeper=coordinator)
    assert remind(own) not in text_of(everyone["coordinator"].get(CARS))
    assert everyone["coordinator"].post(remind(own)).status_code == 404


def test_who_has_left_is_not_reminded(everyone: dict[str, Client], today: date) -> None:
    left = CarFactory(keeper=MemberFactory(left_on=date(2026, 3, 15)))
    assert remind(left) not in text_of(everyone["coordinator"].get(CARS))
    assert everyone["coordinator"].post(remind(left)).status_code == 404


def test_a_car_out_of_service_has_nothing_to_remind_of(everyone: dict[str, Client], keeper: Member) -> None:
    former = CarFactory(keeper=keeper, in_service_to=date(2026, 3, 15))
    assert everyone["coordinator"].post(remind(former)).status_code == 404


def test_a_member_is_offered_no_such_button(everyone: dict[str, Client], car: Car, keeper: Member) -> None:
    assert keeper.role == Role.MEMBER
    assert remind(car) not in text_of(everyone["keeper"].get(CARS))


def test_the_button_works_without_script(car: Car, coordinator: Member) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(coordinator)
    form = text_of(client.get(CARS)).partition(f'action="{remind(car)}"')[2].partition("</form>")[0]
    [token] = re.findall(r'name="csrfmiddlewaretoken" value="(\w+)"', form)
    assert client.post(remind(car), {"csrfmiddlewaretoken": token}).status_code == 303
    assert ReminderMail.objects.count() == 1
