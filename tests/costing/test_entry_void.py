"""The page that makes an entry count nowhere."""

from datetime import date
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from costing.actions import log_cost
from costing.models import CostEntry
from fleet.models import Car, DueItem
from fleet.queries import readings_of
from instructors.models import Member
from tests.costing.pages import new_ref, shown, text_of
from tests.factories import CostEntryFactory, FillFactory

pytestmark = pytest.mark.usefixtures("today")


def address(entry: CostEntry, kind: str = "cost") -> str:
    return reverse("costing:entry-void", args=[kind, entry.pk])


def test_asking_first_changes_nothing(everyone: dict[str, Client], car: Car) -> None:
    cost = CostEntryFactory(car=car)
    assert "Void this entry?" in shown(everyone["keeper"], address(cost))
    cost.refresh_from_db()
    assert cost.voided_at is None


def test_an_entry_is_voided_with_its_reason_kept(everyone: dict[str, Client], car: Car) -> None:
    cost = CostEntryFactory(car=car)
    response = everyone["keeper"].post(address(cost), {"reason": "logged twice"})
    assert (response.status_code, response.url) == (303, reverse("costing:entries"))
    assert not CostEntry.objects.standing().exists()
    page = shown(everyone["keeper"], reverse("costing:entry-correct", args=["cost", cost.pk]))
    assert "Voided: logged twice" in page


def test_voiding_twice_changes_nothing_the_second_time(everyone: dict[str, Client], car: Car) -> None:
    cost = CostEntryFactory(car=car)
    for _ in range(2):
        everyone["keeper"].post(address(cost), {"reason": "logged twice"})
    assert cost.history.count() == 2


def test_a_reason_is_needed(everyone: dict[str, Client], car: Car) -> None:
    cost = CostEntryFactory(car=car)
    page = text_of(everyone["keeper"].post(address(cost), {"reason": " "}))
    assert "Fill this in" in page
    assert "Not voided yet" in page
    assert CostEntry.objects.standing().exists()


@pytest.mark.parametrize("who", ["colleague", "coordinator", "stranger"])
def test_the_entry_of_another_is_not_there(everyone: dict[str, Client], car: Car, who: str) -> None:
    cost = CostEntryFactory(car=car)
    assert everyone[who].post(address(cost), {"reason": "spite"}).status_code == 404
    assert CostEntry.objects.standing().exists()


def test_somebody_not_signed_in_is_sent_to_sign_in(everyone: dict[str, Client], car: Car) -> None:
    cost = CostEntryFactory(car=car)
    assert everyone["anonymous"].post(address(cost), {"reason": "spite"}).url.startswith(reverse("account_login"))
    assert CostEntry.objects.standing().exists()


def test_a_voided_fill_shows_the_odometer_no_more(everyone: dict[str, Client], car: Car) -> None:
    fill = FillFactory(car=car, odometer=84_200)
    everyone["keeper"].post(address(fill, "fill"), {"reason": "odometer mistyped"})
    assert not readings_of([car.pk])[car.pk]


@pytest.mark.parametrize(("other_until", "due_on"), [(None, []), (date(2026, 3, 31), [date(2026, 3, 31)])])
def test_cover_voided_leaves_what_other_entries_cover(
    everyone: dict[str, Client], keeper: Member, car: Car, other_until: date | None, due_on: list[date]
) -> None:
    policy = {"category": "insurance", "amount": Decimal("900.00"), "covers_from": date(2026, 1, 1)}
    for until in filter(None, [other_until, date(2026, 12, 31)]):
        cost, _ = log_cost(by=keeper, car=car, ref=new_ref(), paid_on=date(2026, 1, 1), covers_to=until, **policy)
    everyone["keeper"].post(address(cost), {"reason": "not this car"})
    # Without any, the item is gone that was there by this cost alone.
    assert list(DueItem.objects.filter(car=car, kind="insurance").values_list("due_on", flat=True)) == due_on
