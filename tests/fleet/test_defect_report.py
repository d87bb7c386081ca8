"""The page /cars/<mark>/defects/new/: reporting what is wrong with a car."""

from datetime import date
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from config import budgets
from fleet.models import Car, Defect, Photo
from tests.factories import CarFactory, DefectFactory
from tests.fleet.defects import defect_data, told_of
from tests.pictures import picture_bytes

pytestmark = pytest.mark.usefixtures("today")

PAGE = reverse("fleet:defect-report", args=["QA51ABC"])


def photo_named(name: str, content: bytes) -> SimpleUploadedFile:
    return SimpleUploadedFile(name, content, "image/jpeg")


@pytest.mark.parametrize(("who", "status"), [("colleague", 404), ("stranger", 404), ("anonymous", 302)])
def test_nobody_else_reports_a_defect(everyone: dict[str, Client], car: Car, who: str, status: int) -> None:
    assert everyone[who].get(PAGE).status_code == status
    assert everyone[who].post(PAGE, defect_data()).status_code == status
    assert not Defect.objects.exists()


@pytest.mark.parametrize("who", ["keeper", "coordinator"])
def test_keeper_and_coordinator_report_one_and_twice_is_once(everyone: dict[str, Client], car: Car, who: str) -> None:
    sent = defect_data()
    first = everyone[who].post(PAGE, sent, follow=True)
    again = everyone[who].post(PAGE, sent | {"description": "Something else"}, follow=True)
    defect = Defect.objects.get()
    assert first.redirect_chain == again.redirect_chain == [(f"/defects/{defect.pk}/", 303)]
    assert (defect.car, defect.severity, defect.description) == (car, "dangerous", "Brake pedal goes to the floor")
    assert (defect.found_on, defect.found_by) == (date(2026, 3, 16), "other")
    other = "coordinator" if who == "keeper" else "keeper"
    assert told_of(defect) == [[f"{other}@book.example"]]
    assert "The keeper and the coordinators are told by e-mail" in first.content.decode()
    assert "This is already in the book: nothing was added." in again.content.decode()


def test_what_is_watched_is_told_to_nobody(everyone: dict[str, Client], car: Car) -> None:
    page = everyone["keeper"].post(PAGE, defect_data(severity="watch"), follow=True).content.decode()
    assert "Recorded." in page
    assert "e-mail" not in page
    assert told_of(Defect.objects.get()) == [[]]


def test_today_is_proposed_but_no_severity(everyone: dict[str, Client], car: Car) -> None:
    form = everyone["keeper"].get(PAGE).context["form"]
    assert form["found_on"].value() == date(2026, 3, 16)
    assert form["severity"].value() is None


def test_a_photo_is_kept_and_shown_on_the_defects_page(everyone: dict[str, Client], car: Car) -> None:
    sent = defect_data(picture=photo_named("IMG_0001.jpg", picture_bytes()))
    page = everyone["coordinator"].post(PAGE, sent, follow=True).content.decode()
    photo = Photo.objects.get()
    assert Defect.objects.get().photo == photo
    assert f'src="{reverse("fleet:photo", args=[photo.pk])}"' in page
    assert "IMG_0001" not in photo.image.name


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"description": ""}, "Fill this in."),
        ({"severity": ""}, "Choose one."),
        ({"found_on": "2026-03-17"}, "17 March 2026 has not come yet: today is 16 March 2026."),
        ({"found_on": "Monday"}, "Write the day like 5 March 2027 or 05/03/2027."),
        ({"ref": "no-uuid"}, "Reload the page and try again."),
    ],
)
def test_wrong_input_is_told_beside_its_field_and_kept(
    everyone: dict[str, Client], car: Car, change: dict[str, Any], why: str
) -> None:
    form = everyone["keeper"].post(PAGE, defect_data() | change).context["form"]
    [(field, typed)] = change.items()
    assert form.errors == {field: [why]}
    assert form[field].value() == typed
    assert not Defect.objects.exists()


def test_a_file_that_is_no_photo_is_refused_and_the_words_are_kept(everyone: dict[str, Client], car: Car) -> None:
    answer = everyone["keeper"].post(PAGE, defect_data(picture=photo_named("photo.jpg", b"no picture")))
    assert answer.context["form"].errors == {"picture": ["This cannot be read as a photo: send a JPEG or PNG picture."]}
    page = answer.content.decode()
    assert "Brake pedal goes to the floor" in page
    assert "Choose the photo again" in page
    assert not Defect.objects.exists()


def test_a_car_out_of_service_may_have_a_defect_too(everyone: dict[str, Client], keeper: Any) -> None:
    former = CarFactory.create(keeper=keeper, in_service_to=date(2026, 3, 1))
    page = reverse("fleet:defect-report", args=[former.registration])
    assert everyone["keeper"].post(page, defect_data()).status_code == 303


TOO_MANY = "This car has 100 open defects in the book: close those that have been put right first."


def test_more_than_so_many_are_not_open_at_once(everyone: dict[str, Client], car: Car, colleague_car: Car) -> None:
    *_, last = DefectFactory.create_batch(budgets.OPEN_DEFECTS - 1, car=car)
    DefectFactory.create_batch(2, car=car, state="closed", closed_on=date(2026, 3, 12))
    DefectFactory.create(car=colleague_car)
    sent = defect_data(severity="watch")
    assert everyone["keeper"].post(PAGE, sent).status_code == 303
    page = everyone["keeper"].post(PAGE, defect_data(description="One more rattle")).content.decode()
    assert TOO_MANY in page
    assert "One more rattle" in page
    assert everyone["keeper"].post(PAGE, sent).status_code == 303, "what was sent before is no new one"
    reopened = reverse("fleet:defect-reopen", args=[Defect.objects.filter(state="closed").first().pk])
    assert TOO_MANY in everyone["keeper"].post(reopened, {"words": "It rattles again"}).content.decode()
    Defect.objects.filter(pk=last.pk).update(state="closed", closed_on=date(2026, 3, 12))
    assert everyone["keeper"].post(PAGE, defect_data(description="One more rattle")).status_code == 303
    assert Defect.objects.filter(car=car).exclude(state="closed").count() == budgets.OPEN_DEFECTS
