"""The page /defects/<pk>/again/: a closed defect is wrong again."""

from datetime import date

import pytest
from django.test import Client
from django.urls import reverse

from fleet.models import Car, Defect
from tests.factories import DefectFactory, DefectStepFactory
from tests.fleet.defects import told_of

pytestmark = pytest.mark.usefixtures("today")

WHY = {"words": "Weeps again"}


@pytest.fixture
def defect(car: Car) -> Defect:
    day = date(2026, 3, 12)
    found: Defect = DefectFactory.create(
        car=car, severity="dangerous", description="Brake hose weeps", state="closed", closed_on=day
    )
    DefectStepFactory.create(defect=found, state="closed", happened_on=day, words="New hose")
    return found


def path_of(defect: Defect) -> str:
    return reverse("fleet:defect-reopen", args=[defect.pk])


@pytest.mark.parametrize(("who", "status"), [("colleague", 404), ("stranger", 404), ("anonymous", 302)])
def test_nobody_else_opens_it_again(everyone: dict[str, Client], defect: Defect, who: str, status: int) -> None:
    assert everyone[who].get(path_of(defect)).status_code == status
    assert everyone[who].post(path_of(defect), WHY).status_code == status
    defect.refresh_from_db()
    assert defect.state == "closed"


@pytest.mark.parametrize("who", ["keeper", "coordinator"])
def test_it_stops_the_car_again_is_told_once_and_keeps_its_history(
    everyone: dict[str, Client], defect: Defect, who: str
) -> None:
    for _ in range(2):
        assert everyone[who].post(path_of(defect), WHY).url == reverse("fleet:defect", args=[defect.pk])
    defect.refresh_from_db()
    assert (defect.state, defect.closed_on) == ("open", None)
    assert [step.words for step in defect.steps.all()] == ["", "New hose", "Weeps again"]
    other = "coordinator" if who == "keeper" else "keeper"
    assert told_of(defect) == [[], [], [f"{other}@book.example"]]
    assert "Do not use this car for lessons" in everyone[who].get("/cars/QA51ABC/").content.decode()


def test_it_says_when_it_was_closed_and_asks_why(everyone: dict[str, Client], defect: Defect) -> None:
    assert "It was closed on 12 March 2026." in everyone["keeper"].get(path_of(defect)).content.decode()
    form = everyone["keeper"].post(path_of(defect), {"words": ""}).context["form"]
    assert form.errors == {"words": ["Fill this in."]}


def test_one_that_is_open_is_shown_instead(everyone: dict[str, Client], defect: Defect) -> None:
    everyone["keeper"].post(path_of(defect), WHY)
    assert everyone["keeper"].get(path_of(defect)).url == reverse("fleet:defect", args=[defect.pk])


@pytest.mark.parametrize("words", ["", "Weeps again"])
def test_sent_to_one_that_is_open_it_says_so_and_adds_nothing(
    everyone: dict[str, Client], defect: Defect, words: str
) -> None:
    everyone["keeper"].post(path_of(defect), WHY)
    answer = everyone["keeper"].post(path_of(defect), {"words": words}, follow=True)
    assert answer.redirect_chain == [(reverse("fleet:defect", args=[defect.pk]), 303)]
    assert "It is already open: nothing was added." in answer.content.decode()
    assert defect.steps.count() == 3
