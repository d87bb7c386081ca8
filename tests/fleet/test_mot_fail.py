"""The page /due/<pk>/failed/: recording what a car failed its MOT for."""

from datetime import date
from decimal import Decimal
from typing import Any
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from config import budgets
from costing.models import CostEntry
from fleet.models import Car, Completion, Defect, DueItem, OdometerReading
from tests.factories import DefectFactory, DueItemFactory
from tests.pictures import picture_bytes

pytestmark = pytest.mark.usefixtures("today")
CAR_PAGE = "/cars/QA51ABC/"


@pytest.fixture
def mot(car: Car) -> DueItem:
    return DueItemFactory(car=car, kind="mot", due_on=date(2026, 4, 2))


def path_of(item: DueItem) -> str:
    return reverse("fleet:mot-fail", args=[item.pk])


def sent(**typed: Any) -> dict[str, Any]:
    """The form as a page opened just now sends it: one major item unless ``typed`` says otherwise."""
    return {"ref": str(uuid4()), "tested_on": "2026-03-16", "major": "Brake pipe corroded"} | typed


@pytest.mark.parametrize(("who", "status"), [("colleague", 404), ("stranger", 404), ("anonymous", 302)])
def test_nobody_else_records_it(everyone: dict[str, Client], mot: DueItem, who: str, status: int) -> None:
    assert everyone[who].get(path_of(mot)).status_code == status
    assert everyone[who].post(path_of(mot), sent()).status_code == status
    assert not Defect.objects.exists()


def test_a_reference_that_is_none_is_refused(everyone: dict[str, Client], mot: DueItem) -> None:
    response = everyone["keeper"].post(path_of(mot), sent(ref="none", amount="54.85"))
    assert response.status_code == 200
    assert response.context["form"].errors["ref"] == ["Reload the page and try again."]
    assert not Defect.objects.exists()


@pytest.mark.parametrize("who", ["keeper", "coordinator"])
def test_every_item_is_a_defect_as_grave_as_the_paper_says(everyone: dict[str, Client], mot: DueItem, who: str) -> None:
    typed = sent(dangerous="Tyre cord exposed", major="Brake pipe corroded\nHeadlamp aim", minor="Wiper smears")
    response = everyone[who].post(path_of(mot), typed)
    assert response.url == reverse("fleet:mot-findings", args=["QA51ABC"])
    found = Defect.objects.order_by("pk").values_list("description", "severity", "found_by")
    assert list(found) == [
        ("Tyre cord exposed", "dangerous", "mot"),
        ("Brake pipe corroded", "before_next_lesson", "mot"),
        ("Headlamp aim", "before_next_lesson", "mot"),
        ("Wiper smears", "watch", "mot"),
    ]
    assert "Do not use this car" in everyone[who].get(CAR_PAGE).content.decode()


def test_a_failure_is_no_mot_done(everyone: dict[str, Client], mot: DueItem) -> None:
    everyone["keeper"].post(path_of(mot), sent())
    mot.refresh_from_db()
    assert mot.due_on == date(2026, 4, 2)
    assert not Completion.objects.exists()


def test_sent_twice_it_counts_once(everyone: dict[str, Client], mot: DueItem) -> None:
    form = sent(minor="Wiper smears", amount="54.85", odometer="48,200")
    for _ in range(2):
        response = everyone["keeper"].post(
            path_of(mot), form | {"picture": SimpleUploadedFile("paper.jpg", picture_bytes())}
        )
        assert response.status_code == 303
    assert (Defect.objects.count(), CostEntry.objects.count(), OdometerReading.objects.count()) == (2, 1, 1)
    assert Defect.objects.exclude(photo=None).get().description == "Brake pipe corroded"


def test_the_fee_is_the_keepers_cost(everyone: dict[str, Client], mot: DueItem, car: Car) -> None:
    everyone["keeper"].post(path_of(mot), sent(amount="54.85", tested_on="2026-03-13"))
    cost = CostEntry.objects.get()
    assert (cost.category, cost.amount, cost.paid_on, cost.member) == (
        "mot",
        Decimal("54.85"),
        date(2026, 3, 13),
        car.keeper,
    )


def test_a_coordinator_is_asked_for_no_cost_and_one_that_is_sent_is_not_logged(
    everyone: dict[str, Client], mot: DueItem
) -> None:
    assert "amount" not in everyone["coordinator"].get(path_of(mot)).context["form"].fields
    everyone["coordinator"].post(path_of(mot), sent(amount="54.85"))
    assert Defect.objects.exists()
    assert not CostEntry.objects.exists()


@pytest.mark.parametrize(("booked_for", "after"), [(date(2026, 3, 16), None), (date(2026, 3, 30), date(2026, 3, 30))])
def test_the_booking_that_was_for_it_is_over(
    everyone: dict[str, Client], mot: DueItem, booked_for: date, after: date | None
) -> None:
    mot.booked_for = booked_for
    mot.save()
    everyone["keeper"].post(path_of(mot), sent())
    mot.refresh_from_db()
    assert mot.booked_for == after


@pytest.mark.parametrize(
    ("typed", "wrong"),
    [
        ({"major": "", "minor": "Wiper smears"}, "major"),
        ({"major": " \n "}, "major"),
        ({"major": "x" * 501}, "major"),
        ({"dangerous": "x\n" * 31}, "dangerous"),
        ({"tested_on": "2026-03-17"}, "tested_on"),
        ({"odometer": "48.2"}, "odometer"),
        ({"amount": "45,2"}, "amount"),
        ({"ref": "none"}, "ref"),
    ],
)
def test_wrong_input_is_told_beside_its_field_and_kept(
    everyone: dict[str, Client], mot: DueItem, typed: dict[str, str], wrong: str
) -> None:
    response = everyone["keeper"].post(path_of(mot), sent(**typed))
    form = response.context["form"]
    assert set(form.errors) == {wrong}
    assert form[wrong].value() == typed[wrong]
    assert not Defect.objects.exists()
    assert not CostEntry.objects.exists()


def test_only_an_mot_can_be_failed(everyone: dict[str, Client], car: Car) -> None:
    service = DueItemFactory(car=car, kind="service")
    assert everyone["keeper"].get(path_of(service)).status_code == 404


def test_the_pass_page_leads_here(everyone: dict[str, Client], mot: DueItem) -> None:
    page = everyone["keeper"].get(reverse("fleet:due-item-complete", args=[mot.pk])).content.decode()
    assert path_of(mot) in page


def test_with_too_many_open_defects_nothing_of_it_is_written_and_what_was_typed_stays(
    everyone: dict[str, Client], mot: DueItem, car: Car
) -> None:
    DefectFactory.create_batch(budgets.OPEN_DEFECTS - 1, car=car)
    typed = sent(major="Brake pipe corroded\nHeadlamp aim", odometer="43210")
    page = everyone["keeper"].post(path_of(mot), typed).content.decode()
    assert "This car has 100 open defects in the book: close those that have been put right first." in page
    assert "Headlamp aim" in page
    assert not OdometerReading.objects.exists()
    assert Defect.objects.count() == budgets.OPEN_DEFECTS - 1
