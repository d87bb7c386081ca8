"""The page of one thing that repeats: what comes next or why nothing does, and what it made."""

from datetime import date
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from costing.actions import make_due, void_entry
from costing.models import CostEntry, Repeat
from fleet.models import Car
from instructors.models import Member
from tests.costing.pages import shown
from tests.factories import CostEntryFactory, RepeatFactory
from tests.fleet.keepers import hand_on

TODAY, JANUARY = date(2026, 3, 16), date(2026, 1, 31)

pytestmark = pytest.mark.usefixtures("today")


def page_of(repeat: Repeat) -> str:
    return reverse("costing:repeat", args=[repeat.pk])


def test_it_shows_what_comes_next_and_what_it_made(everyone: dict[str, Client], car: Car) -> None:
    repeat = RepeatFactory.create(car=car, next_amount=15, next_amount_from=date(2026, 5, 31))
    make_due(repeat.pk, TODAY)
    page = shown(everyone["keeper"], page_of(repeat))
    assert "Next on 31 March 2026 From 31 May 2026 on it is £15.00. Each payment £12.40" in page
    assert page.index("28 February 2026") < page.rindex("31 January 2026")


def test_each_entry_says_what_made_it_and_leads_there(everyone: dict[str, Client], car: Car) -> None:
    repeat = RepeatFactory.create(car=car)
    make_due(repeat.pk, TODAY)
    entry = CostEntry.objects.latest("paid_on")
    page = shown(everyone["keeper"], reverse("costing:entry-correct", args=["cost", entry.pk]))
    assert "Belongs to Breakdown cover, every month from 31 January 2026 : change or stop it there." in page
    by_hand = CostEntryFactory.create(car=car)
    other = everyone["keeper"].get(reverse("costing:entry-correct", args=["cost", by_hand.pk]))
    assert "Belongs to" not in other.content.decode()


def test_it_says_which_was_taken_that_was_logged_by_hand(everyone: dict[str, Client], car: Car) -> None:
    CostEntryFactory.create(car=car, category="breakdown_cover", amount="12.40", paid_on=date(2026, 3, 3))
    repeat = RepeatFactory.create(car=car)
    make_due(repeat.pk, TODAY)
    words = "28 February 2026: taken as the one you logged on 3 March 2026"
    assert words in shown(everyone["keeper"], page_of(repeat))


def test_a_voided_entry_stays_in_the_list(everyone: dict[str, Client], car: Car) -> None:
    repeat = RepeatFactory.create(car=car)
    make_due(repeat.pk, TODAY)
    void_entry(by=car.keeper, entry=CostEntry.objects.latest("paid_on"), reason="not paid")
    assert "Voided £12.40" in shown(everyone["keeper"], page_of(repeat))


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"stopped_on": date(2026, 3, 20)}, "Nothing after 20 March 2026"),
        ({"fees": 150, "starts_on": date(2026, 3, 20)}, "Next on 20 March 2026: £162.40"),
        ({"payments": 2, "made_until": date(2026, 2, 28)}, "All payments are made"),
    ],
)
def test_it_says_what_else_comes_or_why_nothing_does(
    everyone: dict[str, Client], car: Car, changes: dict[str, Any], words: str
) -> None:
    page = shown(everyone["keeper"], page_of(RepeatFactory.create(car=car, **changes)))
    assert words in page
    assert ("Change the sum" in page) == words.startswith("Next")


def test_it_says_that_the_car_was_handed_over(
    everyone: dict[str, Client], car: Car, colleague: Member, coordinator: Member
) -> None:
    repeat = RepeatFactory.create(car=car)
    hand_on(car, colleague, date(2026, 3, 10), coordinator)
    words = "You handed the car over on 10 March 2026, so it has stopped"
    assert words in shown(everyone["keeper"], page_of(repeat))


def test_it_says_that_the_car_is_out_of_service(everyone: dict[str, Client], car: Car) -> None:
    repeat = RepeatFactory.create(car=car)
    Car.objects.update(in_service_to=date(2026, 3, 10))
    assert "last day in service was 10 March 2026, so it has stopped" in shown(everyone["keeper"], page_of(repeat))


@pytest.mark.parametrize("who", ["colleague", "coordinator", "stranger"])
def test_another_finds_nothing(everyone: dict[str, Client], car: Car, who: str) -> None:
    repeat = RepeatFactory.create(car=car)
    for name in ("repeat", "repeat-change", "repeat-stop"):
        assert everyone[who].get(reverse(f"costing:{name}", args=[repeat.pk])).status_code == 404
