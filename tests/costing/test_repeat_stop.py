"""The page that stops what repeats."""

from datetime import date

import pytest
from django.test import Client
from django.urls import reverse

from costing.actions import make_due
from costing.models import CostEntry
from fleet.models import Car
from tests.costing.pages import shown, text_of
from tests.factories import RepeatFactory

pytestmark = pytest.mark.usefixtures("today")


@pytest.mark.parametrize(("stopped_on", "made"), [("2026-03-16", 2), ("2026-03-30", 2), ("2026-03-31", 3)])
def test_nothing_is_made_after_the_day(everyone: dict[str, Client], car: Car, stopped_on: str, made: int) -> None:
    repeat = RepeatFactory.create(car=car)
    response = everyone["keeper"].post(reverse("costing:repeat-stop", args=[repeat.pk]), {"stopped_on": stopped_on})
    assert (response.status_code, response.url) == (303, reverse("costing:repeat", args=[repeat.pk]))
    make_due(repeat.pk, date(2026, 5, 31))
    assert CostEntry.objects.count() == made
    assert "Stopped: nothing after" in shown(everyone["keeper"], response.url)


def test_a_day_is_needed(everyone: dict[str, Client], car: Car) -> None:
    repeat = RepeatFactory.create(car=car)
    response = everyone["keeper"].post(reverse("costing:repeat-stop", args=[repeat.pk]), {"stopped_on": ""})
    assert "Give a day." in text_of(response)
    repeat.refresh_from_db()
    assert repeat.stopped_on is None
