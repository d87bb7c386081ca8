"""The key behind /cars/<mark>/mot/first/: a first MOT is entered with its result, on the page of any later one."""

from datetime import date
from decimal import Decimal
from typing import Any
from uuid import uuid4

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from costing.models import CostEntry
from fleet.models import Car, Completion, Defect, DueItem, OdometerReading
from fleet.queries import due_report
from tests.factories import DueItemFactory
from tests.pictures import picture_bytes

pytestmark = pytest.mark.usefixtures("today")

KEY = reverse("fleet:mot-first", args=["QA51ABC"])
ENTER = f"{reverse('fleet:due-item-add', args=['QA51ABC'])}?kind=mot"


@pytest.fixture(autouse=True)
def _files_of_this_test(settings: Any, tmp_path: Any) -> None:
    settings.MEDIA_ROOT = tmp_path


@pytest.fixture
def young(car: Car) -> Car:
    """A car whose first MOT is needed by 30 March 2026: three years after it was first registered."""
    car.first_registered = date(2023, 3, 30)
    car.save()
    return car


def led_to(client: Client, result: str) -> str:
    return client.post(KEY, {"result": result}).url


def sent(**typed: Any) -> dict[str, Any]:
    return {"ref": str(uuid4()), "done_on": "2026-03-16", "tested_on": "2026-03-16"} | typed


@pytest.mark.parametrize(("who", "status"), [("colleague", 404), ("stranger", 404), ("anonymous", 302)])
def test_nobody_else_begins_it(everyone: dict[str, Client], car: Car, who: str, status: int) -> None:
    assert everyone[who].post(KEY).status_code == status
    assert not DueItem.objects.exists()


@pytest.mark.parametrize("who", ["keeper", "coordinator"])
def test_it_leads_to_the_page_of_the_result_and_changes_nothing_yet(
    everyone: dict[str, Client], young: Car, who: str
) -> None:
    before = [line.status for line in due_report(date(2026, 3, 16), cars=[young]).lines()]
    pages = [led_to(everyone[who], result) for result in ("passed", "failed", "passed")]
    item = DueItem.objects.get()
    assert pages == [
        reverse("fleet:due-item-complete", args=[item.pk]),
        reverse("fleet:mot-fail", args=[item.pk]),
        reverse("fleet:due-item-complete", args=[item.pk]),
    ]
    assert (item.kind, item.due_on, item.closed_on) == ("mot", None, None)
    assert [line.status for line in due_report(date(2026, 3, 16), cars=[young]).lines()] == before
    assert everyone[who].get(KEY).status_code == 405


@pytest.mark.parametrize(
    ("tested_on", "until"),
    [
        # By the rule: from 1 March on (a month less a day before 30 March, as February has no 30th) the day is kept.
        (date(2026, 3, 16), date(2027, 3, 30)),
        (date(2026, 3, 1), date(2027, 3, 30)),
        # Earlier than that, or after the day: the test day + 1 year - 1 day.
        (date(2026, 2, 20), date(2027, 2, 19)),
        (date(2026, 4, 2), date(2027, 4, 1)),
    ],
)
def test_a_first_pass_moves_the_day_by_the_rule(
    everyone: dict[str, Client], young: Car, tested_on: date, until: date
) -> None:
    with time_machine.travel(date(2026, 4, 20), tick=False):
        page = led_to(everyone["keeper"], "passed")
        everyone["keeper"].post(page, sent(done_on=tested_on.isoformat()))
    item = DueItem.objects.get()
    assert (item.due_on, Completion.objects.get().done_on) == (until, tested_on)


def test_without_a_first_registration_it_runs_a_year_less_a_day(everyone: dict[str, Client], car: Car) -> None:
    everyone["keeper"].post(led_to(everyone["keeper"], "passed"), sent())
    assert DueItem.objects.get().due_on == date(2027, 3, 15)


def test_a_first_pass_is_entered_with_all_that_its_paper_says_at_once(everyone: dict[str, Client], young: Car) -> None:
    typed = sent(advisories="Exhaust mounting worn\nPlay in a joint", amount="54.85", odometer="38,200")
    page = led_to(everyone["keeper"], "passed")
    paper = SimpleUploadedFile("paper.jpg", picture_bytes())
    assert everyone["keeper"].post(page, typed | {"picture": paper}).status_code == 303
    assert list(Defect.objects.order_by("pk").values_list("description", "severity", "found_by", "found_on")) == [
        ("Exhaust mounting worn", "watch", "mot", date(2026, 3, 16)),
        ("Play in a joint", "watch", "mot", date(2026, 3, 16)),
    ]
    cost, completion = CostEntry.objects.get(), Completion.objects.get()
    assert (cost.category, cost.amount, completion.cost_ref) == ("mot", Decimal("54.85"), cost.ref)
    assert completion.photo is not None
    assert (completion.was_due_on, OdometerReading.objects.get().miles) == (date(2026, 3, 30), 38_200)


def test_a_first_failure_is_entered_with_all_that_its_paper_says_at_once(
    everyone: dict[str, Client], young: Car
) -> None:
    typed = sent(dangerous="Tyre cord exposed", major="Headlamp aim", minor="Wiper smears", amount="54.85")
    page = led_to(everyone["keeper"], "failed")
    paper = SimpleUploadedFile("paper.jpg", picture_bytes())
    assert everyone["keeper"].post(page, typed | {"picture": paper}).status_code == 303
    found = Defect.objects.order_by("pk")
    assert [defect.severity for defect in found] == ["dangerous", "before_next_lesson", "watch"]
    assert found[0].photo is not None
    assert CostEntry.objects.get().amount == Decimal("54.85")
    assert (DueItem.objects.get().due_on, Completion.objects.count()) == (None, 0)


def test_the_page_that_enters_an_mot_offers_its_result_before_its_day(everyone: dict[str, Client], car: Car) -> None:
    page = everyone["keeper"].get(ENTER).content.decode()
    assert f'action="{KEY}"' in page
    assert page.index("It passed") < page.index("It failed") < page.index("Last day of the MOT certificate")
    assert "It passed" not in everyone["keeper"].get(ENTER.replace("mot", "insurance")).content.decode()


def test_so_does_the_page_of_one_that_has_no_day_yet(everyone: dict[str, Client], car: Car) -> None:
    item = DueItemFactory(car=car, kind="mot", due_on=None)
    page = everyone["keeper"].get(ENTER, follow=True).content.decode()
    assert reverse("fleet:due-item-complete", args=[item.pk]) in page
    assert "It failed" in page
    item.due_on = date(2026, 4, 2)
    item.save()
    assert "It failed" not in everyone["keeper"].get(ENTER, follow=True).content.decode()
