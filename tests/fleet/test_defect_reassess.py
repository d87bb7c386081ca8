"""The page /defects/<pk>/reassess/: how serious a defect is after another look."""

from datetime import date

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from fleet.models import Car, Defect
from tests.factories import DefectFactory
from tests.fleet.defects import told_of
from tests.pictures import picture_bytes

pytestmark = pytest.mark.usefixtures("today")

GRAVER = {"severity": "dangerous", "words": "Fluid on the floor"}


@pytest.fixture
def defect(car: Car) -> Defect:
    found: Defect = DefectFactory.create(car=car, severity="watch", description="Brake hose damp")
    return found


def path_of(defect: Defect) -> str:
    return reverse("fleet:defect-reassess", args=[defect.pk])


@pytest.mark.parametrize(("who", "status"), [("colleague", 404), ("stranger", 404), ("anonymous", 302)])
def test_nobody_else_judges_it(everyone: dict[str, Client], defect: Defect, who: str, status: int) -> None:
    assert everyone[who].get(path_of(defect)).status_code == status
    assert everyone[who].post(path_of(defect), GRAVER).status_code == status
    defect.refresh_from_db()
    assert defect.severity == "watch"


@pytest.mark.parametrize("who", ["keeper", "coordinator"])
def test_judged_graver_it_stops_the_car_and_is_told_once(everyone: dict[str, Client], defect: Defect, who: str) -> None:
    for _ in range(2):
        assert everyone[who].post(path_of(defect), GRAVER).url == reverse("fleet:defect", args=[defect.pk])
    defect.refresh_from_db()
    assert defect.severity == "dangerous"
    other = "coordinator" if who == "keeper" else "keeper"
    assert told_of(defect) == [[], [f"{other}@book.example"]]
    assert "Do not use this car for lessons" in everyone[who].get("/cars/QA51ABC/").content.decode()


LESS = {"severity": "watch", "words": "Only damp", "done_by": "Wharf Lane Motors", "done_on": "2026-03-16"}


@pytest.mark.parametrize("who", ["keeper", "coordinator"])
def test_a_danger_judged_less_grave_waits_for_a_second_member_and_the_car_stays_off_the_road(
    everyone: dict[str, Client], defect: Defect, who: str
) -> None:
    Defect.objects.update(severity="dangerous")
    defect.steps.update(severity="dangerous")
    for _ in range(2):
        page = everyone[who].post(path_of(defect), LESS, follow=True).content.decode()
        assert "until a second member confirms it" in page
    defect.refresh_from_db()
    assert (defect.state, defect.severity) == ("waiting", "dangerous")
    assert "Do not use this car for lessons" in everyone["keeper"].get("/cars/QA51ABC/").content.decode()
    other = "coordinator" if who == "keeper" else "keeper"
    assert told_of(defect) == [[], [f"{other}@book.example"]]


def test_with_a_photo_of_the_paper_a_danger_is_over_and_those_concerned_are_told(
    everyone: dict[str, Client], defect: Defect
) -> None:
    Defect.objects.update(severity="dangerous")
    defect.steps.update(severity="dangerous")
    photo = SimpleUploadedFile("IMG_0001.jpg", picture_bytes(), "image/jpeg")
    everyone["keeper"].post(path_of(defect), LESS | {"picture": photo})
    defect.refresh_from_db()
    assert (defect.state, defect.severity) == ("open", "watch")
    assert "Do not use this car for lessons" not in everyone["keeper"].get("/cars/QA51ABC/").content.decode()
    assert told_of(defect) == [[], ["coordinator@book.example"]]


def test_what_was_before_the_next_lesson_asks_who_says_that_it_is_less(
    everyone: dict[str, Client], defect: Defect
) -> None:
    Defect.objects.update(severity="before_next_lesson")
    refused = everyone["keeper"].post(path_of(defect), LESS | {"done_by": "", "done_on": ""})
    assert refused.context["form"].errors == {"done_on": ["Give the day."]}
    refused = everyone["keeper"].post(path_of(defect), LESS | {"done_by": ""})
    assert refused.context["form"].errors == {"done_by": ["Say who: the garage or the person."]}
    everyone["keeper"].post(path_of(defect), LESS)
    defect.refresh_from_db()
    assert (defect.state, defect.severity, defect.steps.latest("pk").done_by) == ("open", "watch", "Wharf Lane Motors")


def test_one_that_is_only_watched_is_asked_for_neither_who_nor_a_photo(
    everyone: dict[str, Client], defect: Defect
) -> None:
    assert set(everyone["keeper"].get(path_of(defect)).context["form"].fields) == {"severity", "words"}


def test_the_page_leaves_it_to_a_technician_and_starts_from_what_stands(
    everyone: dict[str, Client], defect: Defect
) -> None:
    answer = everyone["keeper"].get(path_of(defect))
    assert answer.context["form"]["severity"].value() == "watch"
    assert "Only a qualified technician can say" in answer.content.decode()


@pytest.mark.parametrize(
    ("change", "field"), [({"words": ""}, "words"), ({"severity": ""}, "severity"), ({"severity": "odd"}, "severity")]
)
def test_wrong_input_is_told_and_the_rest_kept(
    everyone: dict[str, Client], defect: Defect, change: dict[str, str], field: str
) -> None:
    form = everyone["keeper"].post(path_of(defect), GRAVER | change).context["form"]
    assert set(form.errors) == {field}
    assert {name: form[name].value() for name in GRAVER} == GRAVER | change
    defect.refresh_from_db()
    assert defect.severity == "watch"


def test_a_closed_one_is_shown_instead_and_a_post_is_refused(everyone: dict[str, Client], defect: Defect) -> None:
    Defect.objects.update(state="closed", closed_on=date(2026, 3, 12))
    assert everyone["keeper"].get(path_of(defect)).url == reverse("fleet:defect", args=[defect.pk])
    assert "It was closed on 12 March 2026" in everyone["keeper"].post(path_of(defect), GRAVER).content.decode()
