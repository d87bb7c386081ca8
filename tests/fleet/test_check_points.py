"""The page /check-points/: what a check looks at, and where each point comes from."""

from datetime import date
from html import unescape

import pytest
from django.test import Client
from django.urls import reverse

from fleet.core.points import POINTS
from tests.factories import CheckPointFactory

pytestmark = pytest.mark.usefixtures("today")

PAGE = reverse("fleet:check-points")


@pytest.mark.parametrize(
    ("who", "status"),
    [("keeper", 200), ("colleague", 200), ("coordinator", 200), ("stranger", 200), ("anonymous", 302)],
)
def test_every_member_may_read_them(everyone: dict[str, Client], who: str, status: int) -> None:
    assert everyone[who].get(PAGE).status_code == status


def test_every_point_stands_there_with_its_source(everyone: dict[str, Client]) -> None:
    page = unescape(everyone["stranger"].get(PAGE).content.decode())
    assert all(point.words in page and f"Source: {point.source}." in page for point in POINTS.values())


def test_own_points_and_retired_ones_are_listed_apart(everyone: dict[str, Client]) -> None:
    CheckPointFactory(words="Roof sign")
    CheckPointFactory(words="Fire blanket", retired_on=date(2026, 3, 2))
    response = everyone["coordinator"].get(PAGE)
    assert [point.words for point in response.context["own"]] == ["Roof sign"]
    page = response.content.decode()
    assert "Roof sign" in page
    assert "Fire blanket, until 2 March 2026" in page


@pytest.mark.parametrize(("who", "may_write"), [("keeper", False), ("coordinator", True)])
def test_only_a_coordinator_is_offered_to_change_them(everyone: dict[str, Client], who: str, may_write: bool) -> None:
    point = CheckPointFactory()
    page = everyone[who].get(PAGE).content.decode()
    assert (reverse("fleet:check-point-add") in page) == may_write
    assert (reverse("fleet:check-point-retire", args=[point.pk]) in page) == may_write
