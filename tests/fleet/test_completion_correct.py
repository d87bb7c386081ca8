"""The page /done/<pk>/: how a due item was met, put right."""

from datetime import date

import pytest
from django.test import Client
from django.urls import reverse

from fleet.models import Car, Completion
from instructors.models import Member
from tests.asked import said_at
from tests.costing.pages import text_of
from tests.factories import CompletionFactory, CostEntryFactory, DueItemFactory, OdometerReadingFactory
from tests.fleet.keepers import acts

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today")]
TYPED = {"done_on": "2025-09-21", "odometer": "40,100", "note": "At the test station in the next valley"}


@pytest.fixture
def completion(car: Car) -> Completion:
    return CompletionFactory.create(due_item=DueItemFactory(car=car), odometer=40_000)


def page_of(completion: Completion) -> str:
    return reverse("fleet:completion-correct", args=[completion.pk])


@pytest.mark.parametrize(("who", "status"), [("colleague", 404), ("stranger", 404), ("anonymous", 302)])
def test_nobody_else_finds_it(everyone: dict[str, Client], completion: Completion, who: str, status: int) -> None:
    assert everyone[who].get(page_of(completion)).status_code == status
    assert everyone[who].post(page_of(completion), TYPED).status_code == status
    completion.refresh_from_db()
    assert completion.done_on == date(2025, 9, 22)


@pytest.mark.parametrize("who", ["keeper", "coordinator"])
def test_keeper_and_coordinator_put_it_right_and_twice_is_once(
    everyone: dict[str, Client], completion: Completion, who: str
) -> None:
    assert page_of(completion) in everyone[who].get(reverse("fleet:car", args=["QA51ABC"])).content.decode()
    due_on = completion.due_item.due_on
    for _ in range(2):
        assert everyone[who].post(page_of(completion), TYPED).url == "/cars/QA51ABC/"
    completion.refresh_from_db()
    assert (completion.done_on, completion.odometer, completion.note) == (date(2025, 9, 21), 40_100, TYPED["note"])
    assert (completion.history.count(), completion.due_item.due_on) == (2, due_on)
    was, now = "MOT, done on 22 September 2025", "MOT, done on 21 September 2025"
    told = [("Wren Applegarth", "completion", was, now, True)]
    assert acts() == (told if who == "coordinator" else [])


@pytest.mark.parametrize(
    ("typed", "field", "refusal"),
    [
        ({"done_on": "2026-03-17"}, "done_on", "17 March 2026 has not come yet"),
        ({"done_on": "2025-01-10", "odometer": ""}, "done_on", "It is recorded as done on 10 January 2025 already."),
        ({"odometer": "39,000"}, "odometer", "On 1 June 2025 it showed 39,500 miles"),
    ],
)
def test_what_cannot_be_is_refused_and_kept_on_the_page(
    everyone: dict[str, Client], completion: Completion, typed: dict[str, str], field: str, refusal: str
) -> None:
    CompletionFactory(due_item=completion.due_item, done_on=date(2025, 1, 10))
    OdometerReadingFactory(car=completion.due_item.car, read_on=date(2025, 6, 1), miles=39_500)
    response = everyone["coordinator"].post(page_of(completion), TYPED | typed)
    assert refusal in said_at(response.context["form"], field)[0]
    assert TYPED["note"] in response.content.decode()
    completion.refresh_from_db()
    assert (completion.done_on, acts()) == (date(2025, 9, 22), [])


def test_one_that_was_done_for_good_can_be_put_right_too(everyone: dict[str, Client], completion: Completion) -> None:
    item = completion.due_item
    item.closed_on = completion.done_on
    item.save()
    assert everyone["keeper"].post(page_of(completion), TYPED).status_code == 303
    completion.refresh_from_db()
    assert completion.done_on == date(2025, 9, 21)


def test_a_credential_has_no_odometer(everyone: dict[str, Client], keeper: Member) -> None:
    completion = CompletionFactory(due_item=DueItemFactory(car=None, member=keeper, kind="adi_registration"))
    assert 'name="odometer"' not in everyone["keeper"].get(page_of(completion)).content.decode()
    assert everyone["keeper"].post(page_of(completion), TYPED).url == reverse("fleet:profile")
    assert everyone["colleague"].get(page_of(completion)).status_code == 404
    completion.refresh_from_db()
    assert (completion.done_on, completion.odometer) == (date(2025, 9, 21), None)


def test_a_coordinator_sees_nothing_of_what_it_cost(everyone: dict[str, Client], completion: Completion) -> None:
    cost = CostEntryFactory(car=completion.due_item.car, ref="canary-ref", amount="913.57")
    Completion.objects.filter(pk=completion.pk).update(cost_ref=cost.ref)
    for address in (page_of(completion), reverse("fleet:car", args=["QA51ABC"])):
        page = everyone["coordinator"].get(address).content.decode()
        assert "canary-ref" not in page
        assert "913.57" not in page
    assert "913.57" in text_of(everyone["keeper"].get(reverse("fleet:car", args=["QA51ABC"])))
