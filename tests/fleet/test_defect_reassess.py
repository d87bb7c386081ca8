"""The page /defects/<pk>/judge/: how grave a defect is after another look."""

from datetime import date

import pytest
from django.test import Client
from django.urls import reverse

from fleet.models import Car, Defect
from tests.factories import DefectFactory
from tests.fleet.defects import told_of

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
    assert told_of(defect) == [[], ["coordinator@book.example", "keeper@book.example"]]
    assert "Do not use this car for lessons" in everyone[who].get("/cars/QA51ABC/").content.decode()


def test_judged_less_grave_it_lets_the_car_go_and_tells_nobody(everyone: dict[str, Client], defect: Defect) -> None:
    Defect.objects.update(severity="dangerous")
    everyone["keeper"].post(path_of(defect), {"severity": "watch", "words": "The technician found only damp"})
    assert "Do not use this car for lessons" not in everyone["keeper"].get("/cars/QA51ABC/").content.decode()
    assert told_of(defect) == [[], []]


def test_the_page_leaves_it_to_a_technician_and_starts_from_what_stands(
    everyone: dict[str, Client], defect: Defect
) -> None:
    answer = everyone["keeper"].get(path_of(defect))
    assert answer.context["form"]["severity"].value() == "watch"
    assert "is for a qualified technician to say" in answer.content.decode()


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
