"""The page /defects/<pk>/work/: somebody sees to a defect."""

from datetime import date

import pytest
from django.test import Client
from django.urls import reverse

from fleet.models import Car, Defect
from tests.factories import DefectFactory

pytestmark = pytest.mark.usefixtures("today")


@pytest.fixture
def defect(car: Car) -> Defect:
    found: Defect = DefectFactory.create(car=car, severity="dangerous", description="Brake hose weeps")
    return found


def path_of(defect: Defect) -> str:
    return reverse("fleet:defect-take-in-hand", args=[defect.pk])


@pytest.mark.parametrize(("who", "status"), [("colleague", 404), ("stranger", 404), ("anonymous", 302)])
def test_nobody_else_takes_it_in_hand(everyone: dict[str, Client], defect: Defect, who: str, status: int) -> None:
    assert everyone[who].get(path_of(defect)).status_code == status
    assert everyone[who].post(path_of(defect)).status_code == status
    defect.refresh_from_db()
    assert defect.state == "open"


@pytest.mark.parametrize("who", ["keeper", "coordinator"])
@pytest.mark.parametrize("words", ["", "Wharf Lane Motors, on Tuesday"])
def test_it_counts_as_open_until_it_is_put_right(
    everyone: dict[str, Client], defect: Defect, who: str, words: str
) -> None:
    for _ in range(2):
        page = everyone[who].post(path_of(defect), {"words": words}, follow=True).content.decode()
        assert "It counts as open until it is put right." in page
    defect.refresh_from_db()
    assert (defect.state, defect.closed_on) == ("in_hand", None)
    assert [step.words for step in defect.steps.all()] == ["", words]
    assert "Do not use this car for lessons" in everyone[who].get("/cars/QA51ABC/").content.decode()


def test_too_many_words_are_refused_and_kept(everyone: dict[str, Client], defect: Defect) -> None:
    form = everyone["keeper"].post(path_of(defect), {"words": "x" * 501}).context["form"]
    assert set(form.errors) == {"words"}
    assert form["words"].value() == "x" * 501


def test_a_closed_one_is_shown_instead_and_a_post_is_refused(everyone: dict[str, Client], defect: Defect) -> None:
    Defect.objects.update(state="closed", closed_on=date(2026, 3, 12))
    assert everyone["keeper"].get(path_of(defect)).url == reverse("fleet:defect", args=[defect.pk])
    assert "It was closed on 12 March 2026" in everyone["keeper"].post(path_of(defect)).content.decode()
