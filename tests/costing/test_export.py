"""The address /export/: a member's own records as a zip."""

from io import BytesIO
from zipfile import ZipFile

import pytest
from django.test import Client
from django.urls import reverse

from fleet.models import Car
from tests.factories import CostEntryFactory

EXPORT = reverse("costing:export")


@pytest.mark.usefixtures("today")
def test_it_holds_the_members_own_records_and_nobody_elses(
    everyone: dict[str, Client], car: Car, colleague_car: Car
) -> None:
    CostEntryFactory(car=car, note="mine")
    CostEntryFactory(car=colleague_car, note="theirs")
    response = everyone["keeper"].post(EXPORT)
    assert response.headers["Content-Type"] == "application/zip"
    assert response.headers["Content-Disposition"] == 'attachment; filename="tuition-car-book-2026-03-16.zip"'
    with ZipFile(BytesIO(b"".join(response))) as archive:
        costs = archive.read("costs.csv").decode()
        everything = "".join(archive.read(name).decode() for name in archive.namelist())
    assert "mine" in costs
    assert "theirs" not in everything
    assert "colleague@" not in everything


def test_it_is_for_members(everyone: dict[str, Client]) -> None:
    assert everyone["anonymous"].get(EXPORT).url.startswith(reverse("account_login"))


@pytest.mark.usefixtures("today")
def test_only_two_of_a_member_are_on_their_way_at_once(everyone: dict[str, Client], car: Car) -> None:
    """Each keeps one of the few threads until its last byte is taken: eight unread ones locked everybody out."""
    first, second = (everyone["keeper"].post(EXPORT) for _ in range(2))
    third = everyone["keeper"].post(EXPORT)
    assert third.status_code == 429
    assert "Other files of yours are still under way" in third.content.decode()
    assert everyone["keeper"].get(EXPORT).status_code == 200
    other = everyone["colleague"].post(EXPORT)
    assert other.status_code == 200
    assert b"".join(second).startswith(b"PK")
    fourth = everyone["keeper"].post(EXPORT)
    assert fourth.status_code == 200
    assert everyone["keeper"].post(EXPORT).status_code == 429
    assert {len(b"".join(answer)) > 0 for answer in (first, fourth, other)} == {True}
