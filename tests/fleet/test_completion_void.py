"""The page /done/<pk>/void/: the record of something done that no longer counts; it falls due as it did before."""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from costing.models import CostEntry
from fleet.actions import Bill, change_due_item, complete_due_item
from fleet.models import Car, Completion, DueItem, OdometerReading
from instructors.models import Member
from tests.factories import CompletionFactory, DueItemFactory
from tests.fleet.keepers import acts, forget_acts

pytestmark = pytest.mark.usefixtures("today")

TODAY = date(2026, 3, 16)
WHY = {"reason": "it was the other car"}


@pytest.fixture
def item(car: Car) -> DueItem:
    """A service, due on 30 March or at 48,000 miles, every year and 10,000 miles."""
    return DueItemFactory.create(
        car=car, kind="service", due_on=date(2026, 3, 30), due_miles=48_000, every_months=12, every_miles=10_000
    )


def page_of(completion: Completion) -> str:
    return reverse("fleet:completion-void", args=[completion.pk])


def complete(item: DueItem, by: Member, **changes: Any) -> Completion:
    met = {"done_on": date(2026, 3, 12), "odometer": 47_200} | changes
    return complete_due_item(by=by, item=item, **met)


@pytest.mark.parametrize(("who", "status"), [("colleague", 404), ("stranger", 404), ("anonymous", 302)])
def test_nobody_else_voids_it(
    everyone: dict[str, Client], item: DueItem, keeper: Member, who: str, status: int
) -> None:
    completion = complete(item, keeper)
    assert everyone[who].get(page_of(completion)).status_code == status
    assert everyone[who].post(page_of(completion), WHY).status_code == status
    completion.refresh_from_db()
    assert completion.voided_at is None


@pytest.mark.parametrize("who", ["keeper", "coordinator"])
def test_the_item_is_due_again_as_it_was_and_twice_is_once(
    everyone: dict[str, Client], item: DueItem, keeper: Member, who: str
) -> None:
    completion = complete(item, keeper)
    item.refresh_from_db()
    assert (item.due_on, item.due_miles) == (date(2027, 3, 12), 57_200)
    forget_acts()
    page = everyone[who].get(page_of(completion)).content.decode()
    assert "It falls due again as before: 30 March 2026 or at 48,000 miles." in page
    for _ in range(2):
        assert everyone[who].post(page_of(completion), WHY).url == "/cars/QA51ABC/"
    item.refresh_from_db()
    assert (item.due_on, item.due_miles) == (date(2026, 3, 30), 48_000)
    reasons = [record.history_change_reason for record in completion.history.all()]
    assert (reasons[0], reasons.count(reasons[0])) == ("Voided: it was the other car", 1)
    told = [("Wren Applegarth", "completion", "Service, done on 12 March 2026", "voided: it was the other car", True)]
    assert acts() == (told if who == "coordinator" else [])
    page = everyone[who].get("/cars/QA51ABC/").content.decode()
    assert 'class="voided"' in page
    again = everyone[who].get(reverse("fleet:completion-correct", args=[completion.pk])).content.decode()
    assert "Voided: it was the other car" in again
    assert 'name="done_on"' not in again


def test_it_can_then_be_recorded_as_done_on_the_same_day(item: DueItem, keeper: Member, client_of: Any) -> None:
    client_of(keeper).post(page_of(complete(item, keeper)), WHY)
    item.refresh_from_db()
    right = complete(item, keeper, odometer=47_300)
    assert (right.was_due_miles, right.next_due_miles) == (48_000, 57_300)
    assert Completion.objects.filter(voided_at__isnull=True).get() == right


def test_one_that_was_done_for_good_comes_back(car: Car, keeper: Member, client_of: Any) -> None:
    item = DueItemFactory.create(car=car, kind="other", due_on=date(2026, 3, 30), note="Roof sign")
    completion = complete_due_item(by=keeper, item=item, done_on=TODAY)
    item.refresh_from_db()
    assert item.closed_on == TODAY
    client_of(keeper).post(page_of(completion), WHY)
    item.refresh_from_db()
    assert (item.closed_on, item.due_on) == (None, date(2026, 3, 30))


def test_it_stays_done_for_good_if_it_was_entered_anew(car: Car, keeper: Member, client_of: Any) -> None:
    item = DueItemFactory.create(car=car, kind="other", due_on=date(2026, 3, 30), note="Roof sign")
    completion = complete_due_item(by=keeper, item=item, done_on=TODAY)
    DueItemFactory.create(car=car, kind="other", due_on=date(2026, 5, 1), note="Roof sign")
    assert "It was entered anew since." in client_of(keeper).get(page_of(completion)).content.decode()
    client_of(keeper).post(page_of(completion), WHY)
    item.refresh_from_db()
    assert item.closed_on == TODAY


def test_an_item_that_was_met_again_is_left_alone(item: DueItem, keeper: Member, client_of: Any) -> None:
    first = complete(item, keeper)
    complete(item, keeper, done_on=TODAY, odometer=47_500)
    assert "It was done again on 16 March 2026." in client_of(keeper).get(page_of(first)).content.decode()
    client_of(keeper).post(page_of(first), WHY)
    item.refresh_from_db()
    assert (item.due_on, item.due_miles) == (date(2027, 3, 16), 57_500)


def test_an_item_that_was_changed_since_is_left_alone(item: DueItem, keeper: Member, client_of: Any) -> None:
    completion = complete(item, keeper)
    item.refresh_from_db()
    change_due_item(by=keeper, item=item, due_on=date(2026, 12, 1))
    assert "it stays 1 December 2026" in client_of(keeper).get(page_of(completion)).content.decode()
    client_of(keeper).post(page_of(completion), WHY)
    item.refresh_from_db()
    assert item.due_on == date(2026, 12, 1)


def test_an_mot_that_did_not_pass_after_all_is_overdue_again(car: Car, keeper: Member, client_of: Any) -> None:
    item = DueItemFactory.create(car=car, kind="mot", due_on=date(2026, 3, 10))
    completion = complete_due_item(by=keeper, item=item, done_on=TODAY)
    page = client_of(keeper).get("/cars/QA51ABC/").content.decode()
    assert "Do not use this car for lessons" not in page
    client_of(keeper).post(page_of(completion), WHY)
    assert "Do not use this car for lessons" in client_of(keeper).get("/cars/QA51ABC/").content.decode()


def test_what_it_cost_and_the_odometer_stay(item: DueItem, keeper: Member, client_of: Any) -> None:
    completion = complete(item, keeper, bill=Bill("b-1", Decimal("186.40")))
    client_of(keeper).post(page_of(completion), WHY)
    assert CostEntry.objects.standing().get().amount == Decimal("186.40")
    assert OdometerReading.objects.get(car=item.car).miles == 47_200


def test_a_credential_is_due_again_as_it_was(everyone: dict[str, Client], keeper: Member) -> None:
    item = DueItemFactory.create(car=None, member=keeper, kind="adi_registration", due_on=date(2026, 4, 30))
    completion = complete_due_item(by=keeper, item=item, done_on=TODAY, next_due_on=date(2030, 4, 30))
    assert everyone["colleague"].post(page_of(completion), WHY).status_code == 404
    assert everyone["coordinator"].post(page_of(completion), WHY).url == "/cars/"
    item.refresh_from_db()
    assert item.due_on == date(2026, 4, 30)


def test_a_reason_is_needed(everyone: dict[str, Client], car: Car) -> None:
    completion = CompletionFactory.create(due_item=DueItemFactory.create(car=car))
    assert "Not voided yet" in everyone["keeper"].post(page_of(completion), {"reason": ""}).content.decode()
    completion.refresh_from_db()
    assert completion.voided_at is None
