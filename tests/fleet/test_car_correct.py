"""The page /cars/<mark>/details/: a car's mark and what else was entered of it, put right."""

from datetime import date
from typing import Any

import pytest
import time_machine
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from fleet.actions import correct_car
from fleet.models import Car
from instructors.models import ActMail, Member
from instructors.queries import late_changes
from tests.costing.pages import text_of
from tests.factories import CarFactory, CostEntryFactory
from tests.fleet.keepers import acts, hand_on

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today")]
PAGE = reverse("fleet:car-correct", args=["QA51ABC"])
SAME = {
    "registration": "qa51 abc",
    "description": "Blue hatchback",
    "fuel": "petrol",
    "transmission": "manual",
    "first_registered": "2020-10-04",
    "dual_controls": "on",
    "co2_g_km": "",
}


@pytest.mark.parametrize(("who", "status"), [("colleague", 404), ("stranger", 404), ("anonymous", 302)])
def test_nobody_else_finds_it(everyone: dict[str, Client], car: Car, who: str, status: int) -> None:
    assert everyone[who].get(PAGE).status_code == status
    assert everyone[who].post(PAGE, SAME | {"description": "Stolen"}).status_code == status
    car.refresh_from_db()
    assert car.description == "Blue hatchback"


def test_it_is_linked_from_the_cars_page(everyone: dict[str, Client], car: Car) -> None:
    for who in ("keeper", "coordinator"):
        assert PAGE in everyone[who].get(reverse("fleet:car", args=["QA51ABC"])).content.decode()


def test_the_keeper_puts_it_right_and_nobody_is_told(everyone: dict[str, Client], car: Car, keeper: Member) -> None:
    typed = SAME | {"registration": "qb51 abd", "fuel": "plugin_hybrid", "co2_g_km": "31", "soft_top": "on"}
    assert everyone["keeper"].post(PAGE, typed).url == "/cars/QB51ABD/"
    car.refresh_from_db()
    assert (car.registration, car.fuel, car.co2_g_km, car.soft_top) == ("QB51ABD", "plugin_hybrid", 31, True)
    assert car.history.first().history_user == keeper
    assert acts() == []


def test_what_a_coordinator_changes_is_told_in_one_mail_with_what_it_was(
    everyone: dict[str, Client], car: Car, coordinator: Member
) -> None:
    typed = SAME | {"registration": "QB51 ABD", "first_registered": "2021-11-04"} | {"dual_controls": ""}
    for _ in range(2):  # a second tap finds the new mark, and nothing to change
        everyone["coordinator"].post(PAGE, typed)
    name = "Wren Applegarth"
    assert acts() == [
        (name, "registration", "QA51 ABC", "QB51 ABD", True),
        (name, "first_registered", "2020-10-04", "2021-11-04", True),
        (name, "dual_controls", "yes", "no", True),
    ]
    assert ActMail.objects.count() == 1
    assert {act.subject for act in late_changes(None, accepted_by=timezone.now())} == {f"car:{car.pk}"}
    assert car.history.first().history_user == coordinator


def test_saved_as_it_is_nothing_changes(everyone: dict[str, Client], car: Car) -> None:
    before = car.history.count()
    assert everyone["coordinator"].post(PAGE, SAME).status_code == 303
    assert (car.history.count(), acts()) == (before, [])


def test_who_kept_it_before_is_told_too_even_of_what_its_keeper_changes(
    everyone: dict[str, Client], car: Car, colleague: Member, coordinator: Member
) -> None:
    """Else a coordinator could take a car over, make it another fuel, and hand it back with nobody told."""
    hand_on(car, colleague, date(2026, 3, 16), coordinator)
    page = text_of(everyone["colleague"].get(PAGE))
    assert "Wren Applegarth is told by e-mail." in page
    with time_machine.travel(date(2026, 3, 20), tick=False):
        everyone["colleague"].post(PAGE, SAME | {"fuel": "diesel"})
    assert acts() == [("Wren Applegarth", "fuel", "petrol", "diesel", True)]


@pytest.mark.parametrize(
    ("typed", "field", "refusal"),
    [
        ({"registration": "QB02 XYZ"}, "registration", "QB02 XYZ is in the book already."),
        ({"registration": "Q-1?"}, "registration", "write 2 to 8 letters and digits, as in QA51 ABC"),
        ({"first_registered": "2024-02-01"}, "first_registered", "It was in use from 8 January 2024"),
        ({"fuel": "coal"}, "fuel", "Select a valid choice"),
        ({"co2_g_km": "1e99999999"}, "co2_g_km", "This cannot be read: write it like 118."),
    ],
)
def test_what_cannot_be_is_refused_and_kept_on_the_page(
    everyone: dict[str, Client], car: Car, colleague_car: Car, typed: dict[str, Any], field: str, refusal: str
) -> None:
    response = everyone["coordinator"].post(PAGE, SAME | {"description": "Half typed"} | typed)
    assert response.status_code == 200
    assert refusal in response.context["form"].errors[field][0]
    assert 'value="Half typed"' in response.content.decode()
    car.refresh_from_db()
    assert (car.description, acts()) == ("Blue hatchback", [])


def test_what_is_logged_stays_on_the_car(everyone: dict[str, Client], car: Car) -> None:
    CostEntryFactory(car=car)
    everyone["keeper"].post(PAGE, SAME | {"registration": "QB51ABD"})
    assert "QB51 ABD" in text_of(everyone["keeper"].get(reverse("costing:entries")))


def test_not_even_the_action_lets_anybody_else_do_it(car: Car, colleague: Member) -> None:
    with pytest.raises(PermissionError):
        correct_car(by=colleague, car=car, registration="QA51ABC", description="Stolen")


def test_somebody_who_has_handed_it_on_meanwhile_does_not_change_it(
    car: Car, keeper: Member, colleague: Member, coordinator: Member
) -> None:
    opened = Car.objects.get(pk=car.pk)
    hand_on(car, colleague, date(2026, 3, 16), coordinator)
    with pytest.raises(PermissionError):
        correct_car(by=keeper, car=opened, registration="QA51ABC", description="Late")


def test_another_cars_mark_is_not_taken_by_a_slip_of_spaces(everyone: dict[str, Client], car: Car) -> None:
    CarFactory(registration="QZ1")
    response = everyone["keeper"].post(PAGE, SAME | {"registration": " q z 1 "})
    assert "registration" in response.context["form"].errors


def test_a_member_enters_themself_as_registered_keeper_and_learns_no_other_name(
    everyone: dict[str, Client], car: Car, keeper: Member, stranger: Member
) -> None:
    choices = [("", "No member"), (str(keeper.pk), "You")]
    assert everyone["keeper"].get(PAGE).context["form"].fields["registered_keeper"].choices == choices
    everyone["keeper"].post(PAGE, SAME | {"registered_keeper": keeper.pk})
    car.refresh_from_db()
    assert car.registered_keeper == keeper
    car.registered_keeper = stranger
    car.save()
    page = everyone["keeper"].get(PAGE)
    assert stranger.name not in page.content.decode()
    assert (str(stranger.pk), "Another member, as before") in page.context["form"].fields["registered_keeper"].choices
    assert "Registered to another member" in text_of(everyone["keeper"].get(reverse("fleet:car", args=["QA51ABC"])))


def test_a_coordinator_enters_any_member_and_the_keeper_is_told(
    everyone: dict[str, Client], car: Car, keeper: Member, stranger: Member
) -> None:
    for chosen in (stranger.pk, ""):
        everyone["coordinator"].post(PAGE, SAME | {"registered_keeper": chosen})
    was = f"member:{stranger.pk}"
    assert [act for act in acts() if act[1] == "registered_keeper"] == [
        (keeper.name, "registered_keeper", "", was, True),
        (keeper.name, "registered_keeper", was, "", True),
    ]
    record = text_of(everyone["keeper"].get(reverse("instructors:record")))
    assert f"It was no member and is now {stranger.name}." in record
    response = everyone["coordinator"].post(PAGE, SAME | {"registered_keeper": "999999"})
    assert response.context["form"].errors["registered_keeper"] == ["Choose one of the members."]
