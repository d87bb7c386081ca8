"""The page /defects/<pk>/done/: a defect was put right."""

from datetime import date
from decimal import Decimal
from typing import Any
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from costing.models import CostEntry
from fleet.models import Car, Defect
from tests.factories import DefectFactory
from tests.fleet.defects import told_of
from tests.pictures import picture_bytes

pytestmark = pytest.mark.usefixtures("today")


@pytest.fixture
def defect(car: Car) -> Defect:
    found: Defect = DefectFactory.create(car=car, severity="before_next_lesson", description="Brake hose weeps")
    return found


@pytest.fixture
def danger(car: Car) -> Defect:
    found: Defect = DefectFactory.create(car=car, severity="dangerous", description="Brake pedal soft")
    return found


def path_of(defect: Defect) -> str:
    return reverse("fleet:defect-close", args=[defect.pk])


def closing(**changes: Any) -> dict[str, Any]:
    typed = {"words": "New hose", "done_by": "Wharf Lane Motors", "closed_on": "2026-03-16", "amount": ""}
    return typed | {"cost_ref": str(uuid4())} | changes


def photo() -> SimpleUploadedFile:
    return SimpleUploadedFile("IMG_0001.jpg", picture_bytes(), "image/jpeg")


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
    assert [step.words for step in defect.steps.all()] == ["", "New hose"]
    assert "Do not use this car for lessons" not in everyone[who].get("/cars/QA51ABC/").content.decode()


def test_the_keepers_cost_is_logged_once_as_a_repair(everyone: dict[str, Client], defect: Defect) -> None:
    sent = closing(amount="£1,186.40", closed_on="2026-03-12")
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
        ({"done_by": ""}, "Fill this in."),
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


# --- A danger ---------------------------------------------------------------------------------------------

OFF = "Do not use this car for lessons"


@pytest.mark.parametrize("who", ["keeper", "coordinator"])
def test_a_danger_without_a_photo_waits_for_a_second_member_and_the_car_stays_off_the_road(
    everyone: dict[str, Client], danger: Defect, who: str
) -> None:
    sent = closing()
    for _ in range(2):
        page = everyone[who].post(path_of(danger), sent, follow=True).content.decode()
        assert "until a second member confirms it" in page
        assert "Send this to any member who can look at it" in page
    danger.refresh_from_db()
    assert (danger.state, danger.closed_on, danger.steps.count()) == ("waiting", None, 2)
    for viewer in ("keeper", "coordinator"):
        assert OFF in everyone[viewer].get("/cars/QA51ABC/").content.decode()
    other = "coordinator" if who == "keeper" else "keeper"
    assert told_of(danger) == [[], [f"{other}@book.example"]]


@pytest.mark.parametrize("is_waiting", [False, True])
def test_with_a_photo_of_the_paper_it_is_closed_at_once(
    everyone: dict[str, Client], danger: Defect, is_waiting: bool
) -> None:
    if is_waiting:
        everyone["keeper"].post(path_of(danger), closing())
    page = everyone["keeper"].post(path_of(danger), closing(picture=photo()), follow=True).content.decode()
    danger.refresh_from_db()
    step = danger.steps.latest("pk")
    assert (danger.state, danger.closed_on, step.evidence) == ("closed", date(2026, 3, 16), "photo")
    assert reverse("fleet:photo", args=[step.photo_id]) in page
    assert OFF not in everyone["keeper"].get("/cars/QA51ABC/").content.decode()
    assert told_of(danger)[-1] == ["coordinator@book.example"]
    for who, status in (("coordinator", 200), ("colleague", 404), ("stranger", 404), ("anonymous", 302)):
        answer = everyone[who].get(reverse("fleet:photo", args=[step.photo_id]))
        b"".join(answer)  # read to its end, it closes its file
        assert answer.status_code == status


def test_what_is_no_picture_is_no_evidence(everyone: dict[str, Client], danger: Defect) -> None:
    fake = SimpleUploadedFile("photo.jpg", b"no picture", "image/jpeg")
    refused = everyone["keeper"].post(path_of(danger), closing(picture=fake))
    assert set(refused.context["form"].errors) == {"picture"}
    danger.refresh_from_db()
    assert (danger.state, danger.steps.count()) == ("open", 1)


def test_only_a_danger_is_asked_for_a_photo(everyone: dict[str, Client], defect: Defect, danger: Defect) -> None:
    assert "picture" not in everyone["keeper"].get(path_of(defect)).context["form"].fields
    assert "picture" in everyone["keeper"].get(path_of(danger)).context["form"].fields
    # Sent all the same, it is left out.
    everyone["keeper"].post(path_of(defect), closing(picture=photo()))
    assert defect.steps.latest("pk").photo is None
