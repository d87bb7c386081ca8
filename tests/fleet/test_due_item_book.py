"""The page /due/<pk>/book/: the day for which something is booked."""

from datetime import date

import pytest
from django.test import Client
from django.urls import reverse

from fleet.models import Car, DueItem
from tests.costing.pages import input_value
from tests.factories import DueItemFactory

pytestmark = pytest.mark.usefixtures("today")


@pytest.fixture
def mot(car: Car) -> DueItem:
    return DueItemFactory(car=car, kind="mot", due_on=date(2026, 4, 2))


def path_of(item: DueItem) -> str:
    return reverse("fleet:due-item-book", args=[item.pk])


@pytest.mark.parametrize(("who", "status"), [("colleague", 404), ("stranger", 404), ("anonymous", 302)])
def test_nobody_else_books_or_cancels(everyone: dict[str, Client], mot: DueItem, who: str, status: int) -> None:
    DueItem.objects.update(booked_for=date(2026, 3, 20))
    assert everyone[who].get(path_of(mot)).status_code == status
    assert everyone[who].post(path_of(mot), {"booked_for": "2026-03-25"}).status_code == status
    assert everyone[who].post(path_of(mot), {"clear": "1"}).status_code == status
    mot.refresh_from_db()
    assert mot.booked_for == date(2026, 3, 20)


@pytest.mark.parametrize("who", ["keeper", "coordinator"])
def test_booking_twice_is_booking_once(everyone: dict[str, Client], mot: DueItem, who: str) -> None:
    for _ in range(2):
        response = everyone[who].post(path_of(mot), {"booked_for": "2026-03-20"}, follow=True)
        assert "MOT is booked for 20 March 2026." in response.content.decode()
    mot.refresh_from_db()
    assert mot.booked_for == date(2026, 3, 20)
    assert mot.history.count() == 2  # made, and booked once


def test_a_booking_may_be_for_today_but_not_for_yesterday(everyone: dict[str, Client], mot: DueItem) -> None:
    response = everyone["keeper"].post(path_of(mot), {"booked_for": "2026-03-15"})
    [why] = response.context["form"].errors["booked_for"]
    assert why == "15 March 2026 is past: record it as done instead."
    assert 'value="2026-03-15"' in response.content.decode()
    assert everyone["keeper"].post(path_of(mot), {"booked_for": "2026-03-16"}).status_code == 303


def test_a_booking_is_taken_back(everyone: dict[str, Client], mot: DueItem) -> None:
    assert "It is no longer booked" not in everyone["keeper"].get(path_of(mot)).content.decode()
    DueItem.objects.update(booked_for=date(2026, 3, 20))
    assert "It is no longer booked" in everyone["keeper"].get(path_of(mot)).content.decode()
    for _ in range(2):
        assert everyone["keeper"].post(path_of(mot), {"clear": "1"}).status_code == 303
    mot.refresh_from_db()
    assert mot.booked_for is None


def test_a_booked_mot_that_is_overdue_keeps_the_car_off_the_road(everyone: dict[str, Client], mot: DueItem) -> None:
    DueItem.objects.update(due_on=date(2026, 3, 10))
    everyone["keeper"].post(path_of(mot), {"booked_for": "2026-03-20"})
    page = everyone["keeper"].get("/cars/QA51ABC/").content.decode()
    assert "Do not use this car for lessons" in page
    assert "Overdue: 10 March 2026, 6 days overdue, booked for 20 March 2026<" in page


@pytest.mark.parametrize(("booked_for", "shown"), [("2026-03-16", "2026-03-16"), ("2026-03-15", None)])
def test_a_booked_day_that_has_passed_is_not_asked_for_again(
    everyone: dict[str, Client], mot: DueItem, booked_for: str, shown: str | None
) -> None:
    DueItem.objects.update(booked_for=booked_for)
    assert input_value(everyone["keeper"].get(path_of(mot)).content.decode(), "booked_for") == shown


@pytest.mark.parametrize(("booked_for", "is_late"), [("2026-04-02", False), ("2026-04-03", True)])
def test_a_booking_for_after_it_runs_out_says_what_that_means(
    everyone: dict[str, Client], mot: DueItem, booked_for: str, is_late: bool
) -> None:
    page = everyone["keeper"].post(path_of(mot), {"booked_for": booked_for}, follow=True).content.decode()
    assert ("give no lesson in the car after 2 April 2026 until it is recorded as done" in page) == is_late


def test_a_late_booking_of_what_stops_no_car_is_no_matter(everyone: dict[str, Client], car: Car) -> None:
    service = DueItemFactory(car=car, kind="service", due_on=date(2026, 4, 2))
    page = everyone["keeper"].post(path_of(service), {"booked_for": "2026-04-09"}, follow=True).content.decode()
    assert "Booked for 9 April 2026; due on 2 April 2026, in 17 days<" in page
    assert "after it runs out" not in page


@pytest.mark.parametrize("typed", ["", "Friday"])
def test_wrong_input_keeps_what_was_typed(everyone: dict[str, Client], mot: DueItem, typed: str) -> None:
    form = everyone["keeper"].post(path_of(mot), {"booked_for": typed}).context["form"]
    assert set(form.errors) == {"booked_for"}
    assert form["booked_for"].value() == typed


def test_an_mot_says_from_when_it_loses_no_days(everyone: dict[str, Client], car: Car) -> None:
    mot = DueItemFactory(car=car, kind="mot", due_on=date(2026, 5, 15))
    page = everyone["keeper"].get(reverse("fleet:due-item-book", args=[mot.pk])).content.decode()
    assert "If it passes on or after 16 April 2026, no days are lost." in page
