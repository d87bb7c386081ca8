"""The address /check-points/<key>/retire/: a point is asked for no more."""

from datetime import date

import pytest
from django.test import Client
from django.urls import reverse

from fleet.models import CheckPoint
from tests.factories import CheckPointFactory

pytestmark = pytest.mark.usefixtures("today")


def address(point: CheckPoint) -> str:
    return reverse("fleet:check-point-retire", args=[point.pk])


@pytest.mark.parametrize(
    ("who", "status"), [("keeper", 404), ("colleague", 404), ("stranger", 404), ("anonymous", 302)]
)
def test_nobody_but_a_coordinator_retires_one(everyone: dict[str, Client], who: str, status: int) -> None:
    point = CheckPointFactory()
    assert everyone[who].post(address(point)).status_code == status
    point.refresh_from_db()
    assert point.retired_on is None


def test_a_coordinator_retires_one_and_twice_is_once(everyone: dict[str, Client]) -> None:
    point = CheckPointFactory()
    for _ in range(2):
        assert everyone["coordinator"].post(address(point)).url == reverse("fleet:check-points")
    point.refresh_from_db()
    assert point.retired_on == date(2026, 3, 16)
    assert [row.history_user and row.history_user.email for row in point.history.all()] == [
        "coordinator@book.example",
        None,
    ]


def test_one_retired_long_ago_keeps_its_day(everyone: dict[str, Client]) -> None:
    point = CheckPointFactory(retired_on=date(2026, 2, 2))
    everyone["coordinator"].post(address(point))
    point.refresh_from_db()
    assert point.retired_on == date(2026, 2, 2)


def test_looking_at_the_address_changes_nothing(everyone: dict[str, Client]) -> None:
    point = CheckPointFactory()
    assert everyone["coordinator"].get(address(point)).status_code == 405
    point.refresh_from_db()
    assert point.retired_on is None


def test_one_that_is_not_there_is_not_found(everyone: dict[str, Client]) -> None:
    assert everyone["coordinator"].post(reverse("fleet:check-point-retire", args=[7])).status_code == 404
