"""Entering something that falls due: on a car, or of one's own."""

from datetime import date

import pytest
from django.test import Client
from django.urls import reverse

from fleet.models import Car, Confirmation, DueItem
from instructors.models import Member
from tests.factories import CarFactory, DueItemFactory

pytestmark = pytest.mark.usefixtures("today")

CREDENTIAL = reverse("fleet:credential-add")


def add_to(car: Car, kind: str = "") -> str:
    return reverse("fleet:due-item-add", args=[car.registration]) + (f"?kind={kind}" if kind else "")


@pytest.mark.parametrize(("who", "status"), [("colleague", 404), ("stranger", 404), ("anonymous", 302)])
def test_nobody_else_enters_anything_on_a_car(everyone: dict[str, Client], car: Car, who: str, status: int) -> None:
    assert everyone[who].get(add_to(car)).status_code == status
    assert everyone[who].post(add_to(car, "mot"), {"due_on": "2026-10-03"}).status_code == status
    assert not DueItem.objects.exists()


@pytest.mark.parametrize("who", ["keeper", "coordinator"])
def test_keeper_and_coordinator_enter_it(everyone: dict[str, Client], car: Car, who: str) -> None:
    response = everyone[who].post(
        add_to(car, "insurance"), {"due_on": "2026-10-03", "note": "By phone", "tuition": "yes"}
    )
    assert response.url == "/cars/QA51ABC/"
    item = DueItem.objects.get()
    assert (item.car, item.kind, item.due_on, item.note) == (car, "insurance", date(2026, 10, 3), "By phone")


def test_sent_twice_it_is_in_the_book_once(everyone: dict[str, Client], car: Car) -> None:
    for _ in range(2):
        response = everyone["keeper"].post(add_to(car, "mot"), {"due_on": "2026-10-03"})
        assert response.url == "/cars/QA51ABC/"
    assert DueItem.objects.count() == 1


def test_without_a_kind_the_page_asks_which(everyone: dict[str, Client], car: Car) -> None:
    DueItemFactory(car=car, kind="mot")
    page = everyone["keeper"].get(add_to(car)).content.decode()
    assert "?kind=service" in page
    assert "?kind=insurance" in page
    assert "?kind=mot" not in page  # in the book already
    assert "?kind=adi_registration" not in page  # not a car's


def test_a_kind_that_is_there_already_leads_to_correcting_it(everyone: dict[str, Client], car: Car) -> None:
    item = DueItemFactory(car=car, kind="mot")
    response = everyone["keeper"].get(add_to(car, "mot"))
    assert response.url == reverse("fleet:due-item-correct", args=[item.pk])


def test_another_day_for_a_kind_that_is_there_is_refused_and_kept_on_the_page(
    everyone: dict[str, Client], car: Car
) -> None:
    DueItemFactory(car=car, kind="mot")
    response = everyone["keeper"].post(add_to(car, "mot"), {"due_on": "2026-11-05"})
    assert "MOT is in the book already" in response.content.decode()
    assert 'value="2026-11-05"' in response.content.decode()
    assert DueItem.objects.get().due_on == date(2026, 10, 3)


def test_the_first_mot_by_rule_is_proposed(everyone: dict[str, Client], keeper: Member) -> None:
    young = CarFactory(keeper=keeper, first_registered=date(2024, 6, 1))
    assert 'value="2027-06-01"' in everyone["keeper"].get(add_to(young, "mot")).content.decode()


@pytest.mark.parametrize(
    ("kind", "fields"),
    [
        ("mot", {"due_on", "note"}),
        ("insurance", {"due_on", "tuition", "note"}),
        ("dual_controls", {"due_on", "every_months", "note"}),
        ("service", {"due_on", "due_miles", "every_months", "every_miles", "note"}),
        ("other", {"due_on", "due_miles", "every_months", "every_miles", "note"}),
    ],
)
def test_no_more_is_asked_for_than_the_kind_needs(
    everyone: dict[str, Client], car: Car, kind: str, fields: set[str]
) -> None:
    response = everyone["keeper"].get(add_to(car, kind))
    assert set(response.context["form"].fields) == fields
    page = response.content.decode()
    for field in fields:
        assert f'name="{field}"' in page


def test_a_service_by_miles_alone(everyone: dict[str, Client], car: Car) -> None:
    typed = {"due_on": "", "due_miles": "50,000", "every_months": "12", "every_miles": "10 000", "note": ""}
    everyone["keeper"].post(add_to(car, "service"), typed)
    item = DueItem.objects.get()
    assert (item.due_on, item.due_miles, item.every_months, item.every_miles) == (None, 50_000, 12, 10_000)


@pytest.mark.parametrize(
    ("kind", "typed", "wrong"),
    [
        ("mot", {"due_on": ""}, {"due_on"}),
        ("mot", {"due_on": "next spring"}, {"due_on"}),
        ("mot", {"due_on": "0026-10-03"}, {"due_on"}),
        ("service", {"due_on": "", "due_miles": ""}, {"due_on"}),
        ("service", {"due_miles": "fifty thousand"}, {"due_miles"}),
        ("service", {"due_miles": "50,00"}, {"due_miles"}),
        ("service", {"due_miles": "1000000"}, {"due_miles"}),
        ("service", {"due_miles": "50000", "every_months": "0"}, {"every_months"}),
        ("service", {"due_miles": "50000", "every_miles": "0"}, {"every_miles"}),
        ("other", {"due_on": "2026-10-03", "note": ""}, {"note"}),
        ("insurance", {"due_on": "2026-10-03", "note": "x" * 501, "tuition": "yes"}, {"note"}),
        ("insurance", {"due_on": "2026-10-03"}, {"tuition"}),
    ],
)
def test_wrong_input_is_told_beside_its_field_and_kept(
    everyone: dict[str, Client], car: Car, kind: str, typed: dict[str, str], wrong: set[str]
) -> None:
    response = everyone["keeper"].post(add_to(car, kind), typed)
    assert response.status_code == 200
    form = response.context["form"]
    assert set(form.errors) == wrong
    assert {name: form[name].value() for name in typed} == typed
    assert not DueItem.objects.exists()


@pytest.mark.parametrize("kind", ["adi_registration", "no-such-kind", ""])
def test_a_kind_a_car_does_not_have_is_not_entered(everyone: dict[str, Client], car: Car, kind: str) -> None:
    response = everyone["keeper"].post(add_to(car, kind), {"due_on": "2026-10-03"})
    assert "What falls due?" in response.content.decode()
    assert not DueItem.objects.exists()


# --- A member's own ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("who", ["keeper", "colleague", "coordinator", "stranger"])
def test_everybody_enters_their_own_credentials(everyone: dict[str, Client], who: str) -> None:
    response = everyone[who].post(f"{CREDENTIAL}?kind=driving_licence", {"due_on": "2031-05-04"})
    assert response.url == reverse("fleet:profile")
    item = DueItem.objects.get()
    assert item.member is not None
    assert item.member.email == f"{who}@book.example"
    assert item.car is None


def test_somebody_not_signed_in_enters_none(everyone: dict[str, Client]) -> None:
    response = everyone["anonymous"].post(f"{CREDENTIAL}?kind=driving_licence", {"due_on": "2031-05-04"})
    assert response.url.startswith(reverse("account_login"))
    assert not DueItem.objects.exists()


def test_only_what_a_person_holds_is_offered(everyone: dict[str, Client]) -> None:
    page = everyone["keeper"].get(CREDENTIAL).content.decode()
    assert "?kind=adi_registration" in page
    assert "?kind=mot" not in page


def test_something_of_ones_own_does_not_fall_due_by_miles(everyone: dict[str, Client]) -> None:
    everyone["keeper"].post(
        f"{CREDENTIAL}?kind=other", {"due_on": "2026-05-04", "due_miles": "9", "note": "First-aid course"}
    )
    assert DueItem.objects.get().due_miles is None


# --- Insurance must cover tuition -------------------------------------------------------------------------


@pytest.mark.parametrize(("answer", "is_met"), [("yes", [True]), ("no", [False]), ("unknown", [])])
def test_insurance_is_asked_whether_it_covers_tuition(
    everyone: dict[str, Client], car: Car, keeper: Member, answer: str, is_met: list[bool]
) -> None:
    for _ in range(2):
        everyone["keeper"].post(add_to(car, "insurance"), {"due_on": "2026-10-03", "tuition": answer})
    confirmed = Confirmation.objects.filter(car=car, point="tuition_insurance", by=keeper)
    assert list(confirmed.values_list("is_met", flat=True)) == is_met


def test_insurance_without_tuition_takes_the_car_off_the_road(everyone: dict[str, Client], car: Car) -> None:
    everyone["keeper"].post(add_to(car, "insurance"), {"due_on": "2026-10-03", "tuition": "no"})
    page = everyone["keeper"].get("/cars/QA51ABC/").content.decode()
    assert "The insurance does not cover driving tuition" in page


def test_a_refused_entry_answers_nothing(everyone: dict[str, Client], car: Car) -> None:
    DueItemFactory(car=car, kind="insurance", is_confirmed=False)
    everyone["keeper"].post(add_to(car, "insurance"), {"due_on": "2026-11-05", "tuition": "no"})
    assert not Confirmation.objects.exists()


def test_a_trainee_licence_says_how_long_it_runs(everyone: dict[str, Client]) -> None:
    page = everyone["colleague"].get(f"{CREDENTIAL}?kind=pdi_licence").content.decode()
    assert "The last day on the licence." in page
