"""The address /health/: whether reminders still run."""

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.test import Client
from django.urls import reverse

from fleet.models import Car
from tests.factories import ReminderRunFactory

HEALTH = reverse("fleet:health")
NOW = datetime(2026, 3, 16, 12, tzinfo=ZoneInfo("Europe/London"))


@pytest.mark.usefixtures("today", "db")
def test_a_book_without_cars_is_well(client: Client) -> None:
    response = client.get(HEALTH)
    assert (response.status_code, response.json()["reminders"]) == (200, "ok")


@pytest.mark.usefixtures("today")
@pytest.mark.parametrize(
    ("ago", "status", "words"),
    [
        (timedelta(hours=5), 200, "ok"),
        (timedelta(hours=26), 200, "ok"),
        (timedelta(hours=26, minutes=1), 503, "late"),
    ],
)
def test_reminders_are_late_after_26_hours(client: Client, car: Car, ago: timedelta, status: int, words: str) -> None:
    ReminderRunFactory(finished_at=NOW - ago)
    response = client.get(HEALTH)
    assert (response.status_code, response.json()["reminders"]) == (status, words)


@pytest.mark.usefixtures("today")
@pytest.mark.parametrize(("ago", "status"), [(timedelta(hours=2), 200), (timedelta(hours=27), 503)])
def test_a_book_that_never_ran_them_is_late_once_it_has_had_a_car_for_so_long(
    client: Client, car: Car, ago: timedelta, status: int
) -> None:
    car.history.update(history_date=NOW - ago)
    ReminderRunFactory(finished_at=None)
    assert client.get(HEALTH).status_code == status


@pytest.mark.usefixtures("today")
def test_it_names_no_member_and_no_car(client: Client, car: Car) -> None:
    ReminderRunFactory()
    assert set(client.get(HEALTH).json()) == {"reminders", "last_finished_at"}
