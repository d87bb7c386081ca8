"""What the script of a log page is told: JSON, by the same POST as a browser's."""

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from costing.models import CostEntry, Fill
from fleet.models import Car
from instructors.models import Member
from instructors.queries import member_key
from tests.costing.pages import cost_data, fill_data, week_data
from tests.factories import CostEntryFactory, DueItemFactory

FILL_LOG, COST_LOG = reverse("costing:fill-log"), reverse("costing:cost-log")
JSON = {"Accept": "application/json"}

pytestmark = pytest.mark.usefixtures("today")


def test_a_fill_is_new_once(everyone: dict[str, Client], car: Car) -> None:
    sent = fill_data(car)
    first = everyone["keeper"].post(FILL_LOG, sent, headers=JSON)
    fill = Fill.objects.get()
    undo, correct = (reverse(f"costing:entry-{what}", args=["fill", fill.pk]) for what in ("undo", "correct"))
    assert first.status_code == 201
    assert first.json() == {
        "is_new": True,
        "told": "Logged: Fill, £47.92, 16 March 2026, 34.5 litres, at 48,210 miles, QA51 ABC.",
        "undo": undo,
        "links": [["Correct it", correct]],
    }
    again = everyone["keeper"].post(FILL_LOG, sent, headers=JSON)
    assert (again.status_code, again.json()["is_new"]) == (200, False)
    assert Fill.objects.count() == 1
    # What was undone stays undone, however often a phone sends it again.
    everyone["keeper"].post(undo)
    late = everyone["keeper"].post(FILL_LOG, sent, headers=JSON)
    assert (late.status_code, late.json()["undo"]) == (200, "")
    assert not Fill.objects.standing().exists()


def test_a_refusal_says_why_by_field(everyone: dict[str, Client], car: Car) -> None:
    answer = everyone["keeper"].post(FILL_LOG, fill_data(car, amount="", odometer="48,21"), headers=JSON)
    assert answer.status_code == 422
    errors = answer.json()["errors"]
    assert (errors["amount"], list(errors)) == (["Fill this in."], ["odometer", "amount"])
    assert answer.json()["questions"] == {}


@pytest.mark.parametrize("address", [FILL_LOG, COST_LOG, reverse("costing:teaching-log")])
def test_whoever_has_no_car_is_told_so(everyone: dict[str, Client], car: Car, address: str) -> None:
    answer = everyone["stranger"].post(address, fill_data(car), headers=JSON)
    assert (answer.status_code, answer.json()["errors"]) == (422, {"": ["You have no car in the book."]})


def test_paid_work_brings_its_link(everyone: dict[str, Client], car: Car) -> None:
    DueItemFactory(car=car, kind="service")
    answer = everyone["keeper"].post(COST_LOG, cost_data(car, category="servicing"), headers=JSON).json()
    assert [words for words, _ in answer["links"]] == ["Record it as done", "Correct it"]


def test_whoever_is_signed_out_is_told_so(everyone: dict[str, Client], car: Car) -> None:
    answer = everyone["anonymous"].post(FILL_LOG, fill_data(car), headers=JSON)
    assert (answer.status_code, answer.json()) == (401, {})
    assert not Fill.objects.exists()


def test_what_a_phone_kept_for_somebody_else_is_not_taken(
    everyone: dict[str, Client], car: Car, colleague: Member, colleague_car: Car
) -> None:
    for member in ("", "nonsense", member_key(colleague)):
        answer = everyone["keeper"].post(COST_LOG, cost_data(car), headers=JSON | {"X-Member": member})
        assert (answer.status_code, answer.json()) == (409, {})
    assert not CostEntry.objects.exists()
    own = everyone["keeper"].post(COST_LOG, cost_data(car), headers=JSON | {"X-Member": member_key(car.keeper)})
    assert own.status_code == 201


def test_the_key_of_a_member_is_theirs_alone(keeper: Member, colleague: Member) -> None:
    assert member_key(keeper) == member_key(Member.objects.get(pk=keeper.pk)) != member_key(colleague)
    assert str(keeper.pk) != member_key(keeper)


@pytest.mark.parametrize(
    ("page", "data"), [("fill-log", fill_data), ("cost-log", cost_data), ("teaching-log", week_data)]
)
def test_a_save_takes_few_statements_however_much_is_in_the_book(
    everyone: dict[str, Client], car: Car, page: str, data: Callable[[Car], dict[str, Any]]
) -> None:
    """What is asked to tell a slip from an entry is bounded, too. A week writes a record a day, with its history."""
    client, address, counts = everyone["keeper"], reverse(f"costing:{page}"), []
    client.get(address)
    for number in range(2):
        with CaptureQueriesContext(connection) as captured:
            assert client.post(address, data(car), headers=JSON).status_code in {201, 422}
        counts.append(len(captured))
        for day in range(1, 20):
            CostEntryFactory(car=car, paid_on=date(2026, 2, day), amount=10 + day + number)
    assert counts[0] <= (20 if page != "teaching-log" else 50)
    assert counts[1] <= counts[0]
