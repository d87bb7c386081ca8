"""The page /defects/<pk>/done/: a defect was put right."""

from datetime import date
from decimal import Decimal
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from costing.models import CostEntry
from fleet.models import Car, Defect
from tests.factories import DefectFactory

pytestmark = pytest.mark.usefixtures("today")


@pytest.fixture
def defect(car: Car) -> Defect:
    found: Defect = DefectFactory.create(car=car, severity="dangerous", description="Brake hose weeps")
    return found


def path_of(defect: Defect) -> str:
    return reverse("fleet:defect-close", args=[defect.pk])


def closing(**changes: Any) -> dict[str, Any]:
    typed = {"cost_ref": str(uuid4()), "words": "New hose, Wharf Lane Motors", "closed_on": "2026-03-16", "amount": ""}
    return typed | changes


@pytest.mark.parametrize(("who", "status"), [("colleague", 404), ("stranger", 404), ("anonymous", 302)])
def test_nobody_else_closes_a_defect(everyone: dict[str, Client], defect: Defect, who: str, status: int) -> None:
    assert everyone[who].get(path_of(defect)).status_code == status
    assert everyone[who].post(path_of(defect), closing()).status_code == status
    defect.refresh_from_db()
    assert defect.state == "open"


@pytest.mark.parametrize("who", ["keeper", "coordinator"])
def test_closing_twice_is_closing_once(everyone: dict[str, Client], defect: Defect, who: str) -> None:
    sent = closing()
    for _ in range(2):
        page = everyone[who].post(path_of(defect), sent, follow=True).content.decode()
        assert "Recorded: it was put right." in page
    defect.refresh_from_db()
    assert (defect.state, defect.closed_on) == ("closed", date(2026, 3, 16))
    assert [step.words for step in defect.steps.all()] == ["", "New hose, Wharf Lane Motors"]
    assert "Do not use this car for lessons" not in everyone[who].get("/cars/QA51ABC/").content.decode()


def test_the_keepers_cost_is_logged_once_as_a_repair(everyone: dict[str, Client], defect: Defect) -> None:
    sent = closing(amount="£1,186.40", supplier="Wharf Lane Motors", closed_on="2026-03-12")
    for _ in range(2):
        assert everyone["keeper"].post(path_of(defect), sent).status_code == 303
    entry = CostEntry.objects.get()
    assert (entry.member, entry.car, entry.category) == (defect.car.keeper, defect.car, "repairs")
    assert (entry.amount, entry.paid_on, entry.supplier) == (Decimal("1186.40"), date(2026, 3, 12), "Wharf Lane Motors")
    assert defect.steps.latest("pk").cost_ref == entry.ref == sent["cost_ref"]


def test_a_coordinator_is_asked_for_no_cost_and_one_that_is_sent_goes_nowhere(
    everyone: dict[str, Client], defect: Defect
) -> None:
    assert "What it cost you" in everyone["keeper"].get(path_of(defect)).content.decode()
    assert "What it cost you" not in everyone["coordinator"].get(path_of(defect)).content.decode()
    everyone["coordinator"].post(path_of(defect), closing(amount="86.40"))
    defect.refresh_from_db()
    assert (defect.state, CostEntry.objects.count()) == ("closed", 0)


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"words": ""}, "Fill this in."),
        ({"closed_on": "2026-03-17"}, "17 March 2026 has not come yet: today is 16 March 2026."),
        ({"closed_on": "2026-03-10"}, "It was still open on 11 March 2026."),
        ({"amount": "86,4"}, "This cannot be read: put a point before the decimals, as in 86.40."),
        ({"amount": "0"}, "This is less than £0.01: it must be between £0.01 and £99,999.99."),
        ({"cost_ref": "odd"}, "Reload the page and try again."),
    ],
)
def test_wrong_input_is_told_beside_its_field_and_kept(
    everyone: dict[str, Client], defect: Defect, change: dict[str, Any], why: str
) -> None:
    form = everyone["keeper"].post(path_of(defect), closing() | change).context["form"]
    [(field, typed)] = change.items()
    assert form.errors == {field: [why]}
    assert form[field].value() == typed
    defect.refresh_from_db()
    assert (defect.state, CostEntry.objects.count()) == ("open", 0)


def test_one_that_is_closed_already_is_shown_instead(everyone: dict[str, Client], defect: Defect) -> None:
    everyone["coordinator"].post(path_of(defect), closing())
    assert everyone["keeper"].get(path_of(defect)).url == reverse("fleet:defect", args=[defect.pk])
    refused = everyone["keeper"].post(path_of(defect), closing(words="I did it", amount="86.40"))
    assert "It was closed on 16 March 2026" in refused.content.decode()
    assert not CostEntry.objects.exists()
