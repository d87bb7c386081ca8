"""The page /cars/<mark>/readings/<pk>/remove/: a reading taken out of the book."""

from datetime import date

import pytest
from django.test import Client
from django.urls import reverse

from fleet.models import Car, OdometerReading
from instructors.models import Member
from tests.costing.pages import text_of
from tests.factories import OdometerReadingFactory
from tests.fleet.keepers import acts, hand_on

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today")]
LIST = reverse("fleet:readings", args=["QA51ABC"])


@pytest.fixture
def reading(car: Car) -> OdometerReading:
    return OdometerReadingFactory.create(car=car, read_on=date(2026, 3, 10), miles=48_000)


def page_of(reading: OdometerReading) -> str:
    return reverse("fleet:reading-remove", args=["QA51ABC", reading.pk])


@pytest.mark.parametrize(("who", "status"), [("colleague", 404), ("stranger", 404), ("anonymous", 302)])
def test_nobody_else_removes_it(everyone: dict[str, Client], reading: OdometerReading, who: str, status: int) -> None:
    assert everyone[who].get(page_of(reading)).status_code == status
    assert everyone[who].post(page_of(reading)).status_code == status
    assert OdometerReading.objects.exists()


def test_looking_at_the_page_removes_nothing(everyone: dict[str, Client], reading: OdometerReading) -> None:
    assert "48,000 miles on 10 March 2026." in text_of(everyone["keeper"].get(page_of(reading)))
    assert OdometerReading.objects.exists()


@pytest.mark.parametrize("who", ["keeper", "coordinator"])
def test_it_is_removed_once_and_its_history_stays(
    everyone: dict[str, Client], reading: OdometerReading, who: str
) -> None:
    answers = [everyone[who].post(page_of(reading), follow=True) for _ in range(2)]
    assert [answer.redirect_chain[0][0] for answer in answers] == [LIST, LIST]
    assert "The reading is removed." in text_of(answers[0])
    assert "That reading is not in the book." in text_of(answers[1])
    assert not OdometerReading.objects.exists()
    assert [row.history_type for row in OdometerReading.history.all()] == ["-", "+"]
    told = [("Wren Applegarth", "reading:2026-03-10", "48000", "", True)]
    assert acts() == (told if who == "coordinator" else [])
    assert everyone[who].get(page_of(reading)).status_code == 404


def test_whoever_took_the_car_over_removes_none_of_the_days_before(
    everyone: dict[str, Client], car: Car, reading: OdometerReading, colleague: Member, coordinator: Member
) -> None:
    hand_on(car, colleague, date(2026, 3, 16), coordinator)
    response = everyone["colleague"].post(page_of(reading))
    assert response.status_code == 200
    assert "You took QA51 ABC over on 16 March 2026" in text_of(response)
    assert OdometerReading.objects.exists()
