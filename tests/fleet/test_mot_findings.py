"""The page /cars/<mark>/mot/: what MOT tests found and is still open, and what may be done meanwhile."""

from datetime import date

import pytest
from django.test import Client
from django.urls import reverse

from fleet.models import Car
from tests.factories import CooperativeFactory, DefectFactory, DueItemFactory

pytestmark = pytest.mark.usefixtures("today")
PAGE = "/cars/QA51ABC/mot/"


def shown(client: Client) -> str:
    return " ".join(client.get(PAGE).content.decode().split())


@pytest.mark.parametrize(
    ("who", "status"),
    [("keeper", 200), ("coordinator", 200), ("colleague", 404), ("stranger", 404), ("anonymous", 302)],
)
def test_who_may_see_it(everyone: dict[str, Client], car: Car, who: str, status: int) -> None:
    assert reverse("fleet:mot-findings", args=["QA51ABC"]) == PAGE
    assert everyone[who].get(PAGE).status_code == status


def test_what_is_open_is_listed_the_gravest_first_with_the_way_to_close_it(
    everyone: dict[str, Client], car: Car
) -> None:
    watched = DefectFactory(car=car, found_by="mot", description="Wiper smears")
    grave = DefectFactory(car=car, found_by="mot", description="Tyre cord exposed", severity="dangerous")
    DefectFactory(car=car, found_by="mot", description="Mended", state="closed", closed_on=date(2026, 3, 12))
    DefectFactory(car=car, found_by="other", description="Noticed by somebody")
    page = shown(everyone["keeper"])
    assert page.index("Tyre cord exposed") < page.index("Wiper smears")
    for defect in (watched, grave):
        assert reverse("fleet:defect-close", args=[defect.pk]) in page
    assert "Mended" not in page
    assert "Noticed by somebody" not in page


@pytest.mark.parametrize(
    ("severity", "due_on", "words"),
    [
        ("dangerous", date(2026, 5, 15), "it must not be driven until that is repaired"),
        ("before_next_lesson", date(2026, 5, 15), "it may be taken away, but it must still be roadworthy"),
        ("before_next_lesson", date(2026, 3, 15), "to a place of repair or to a test booked beforehand"),
        ("before_next_lesson", None, "to a place of repair or to a test booked beforehand"),
    ],
)
def test_it_says_what_the_law_allows_meanwhile_and_where_that_stands(
    everyone: dict[str, Client], car: Car, severity: str, due_on: date | None, words: str
) -> None:
    DueItemFactory(car=car, kind="mot", due_on=due_on)
    DefectFactory(car=car, found_by="mot", severity=severity)
    page = shown(everyone["keeper"])
    assert words in page
    assert "No lesson may be given in this car" in page
    assert "within 10 working days" in page
    assert "(secondary, as reproduced)" in page
    assert "ask DVA" not in page


def test_in_northern_ireland_it_sends_to_dva(everyone: dict[str, Client], car: Car) -> None:
    CooperativeFactory(nation="NI")
    DefectFactory(car=car, found_by="mot", severity="dangerous")
    assert "in Northern Ireland ask DVA" in shown(everyone["keeper"])


def test_what_is_only_watched_stops_nothing(everyone: dict[str, Client], car: Car) -> None:
    DefectFactory(car=car, found_by="mot", description="Wiper smears")
    assert "No lesson may be given" not in shown(everyone["keeper"])


def test_with_nothing_open_it_says_so(everyone: dict[str, Client], car: Car) -> None:
    assert "No test has found anything that is still open in this book." in shown(everyone["keeper"])
