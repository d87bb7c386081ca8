"""The page that records what a car is worth."""

from datetime import date
from decimal import Decimal

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from costing.models import Valuation
from fleet.models import Car
from instructors.models import Member
from tests.costing.pages import text_of
from tests.factories import ValuationFactory
from tests.fleet.keepers import hand_on

ADD = reverse("costing:valuation-add", args=["QA51ABC"])
WORTH = {"valued_on": "2026-03-16", "value": "£7,650"}

pytestmark = pytest.mark.usefixtures("today")


def test_a_value_is_recorded(everyone: dict[str, Client], car: Car) -> None:
    response = everyone["keeper"].post(ADD, WORTH)
    assert (response.status_code, response.url) == (303, reverse("costing:car-cost", args=["QA51ABC"]))
    valuation = Valuation.objects.get()
    assert (valuation.car, valuation.member) == (car, car.keeper)
    assert (valuation.valued_on, valuation.value) == (date(2026, 3, 16), Decimal("7650.00"))


def test_sent_twice_it_is_recorded_once(everyone: dict[str, Client], car: Car) -> None:
    for _ in range(2):
        assert everyone["keeper"].post(ADD, WORTH).status_code == 303
    assert Valuation.objects.get().history.count() == 1


def test_another_value_for_the_same_day_is_refused(everyone: dict[str, Client], car: Car) -> None:
    ValuationFactory(car=car, valued_on="2026-03-16")
    assert "already recorded for 16 March 2026" in text_of(everyone["keeper"].post(ADD, WORTH))
    assert Valuation.objects.get().value == Decimal("7900.00")


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"valued_on": "2026-03-17"}, "has not come yet"),
        ({"value": "-1"}, "This is less than £0"),
        ({"value": "7,65"}, "cannot be read"),
        ({"value": "100,000,000"}, "This is more than £9,999,999.99"),
    ],
)
def test_what_cannot_be_is_refused(everyone: dict[str, Client], car: Car, changes: dict[str, str], words: str) -> None:
    assert words in text_of(everyone["keeper"].post(ADD, WORTH | changes))
    assert not Valuation.objects.exists()


@pytest.mark.parametrize("who", ["colleague", "coordinator", "stranger"])
def test_anothers_car_is_not_there(everyone: dict[str, Client], car: Car, who: str) -> None:
    assert everyone[who].get(ADD).status_code == 404
    assert everyone[who].post(ADD, WORTH).status_code == 404
    assert not Valuation.objects.exists()


def test_somebody_not_signed_in_is_sent_to_sign_in(everyone: dict[str, Client], car: Car) -> None:
    assert everyone["anonymous"].post(ADD, WORTH).url.startswith(reverse("account_login"))


def test_a_day_of_another_keeper_is_refused(
    everyone: dict[str, Client], colleague: Member, coordinator: Member, car: Car
) -> None:
    hand_on(car, colleague, date(2026, 3, 16), coordinator)
    for day in ("2026-03-16", "2026-02-20"):
        refused = everyone["colleague"].post(ADD, WORTH | {"valued_on": day})
        assert "You took QA51 ABC over on 16 March 2026" in text_of(refused)
    with time_machine.travel(date(2026, 3, 17), tick=False):
        assert everyone["colleague"].post(ADD, WORTH | {"valued_on": "2026-03-17"}).status_code == 303


def test_a_correction_to_a_day_of_another_keeper_is_refused_too(
    everyone: dict[str, Client], colleague: Member, coordinator: Member, car: Car
) -> None:
    hand_on(car, colleague, date(2026, 3, 16), coordinator)
    valuation = ValuationFactory(car=car, member=colleague, valued_on="2026-03-20")
    correct = reverse("costing:valuation-correct", args=[car.registration, valuation.pk])
    with time_machine.travel(date(2026, 3, 21), tick=False):
        refused = everyone["colleague"].post(correct, WORTH | {"valued_on": "2026-02-20"})
        assert "over on 16 March 2026" in text_of(refused)
        assert everyone["colleague"].post(correct, WORTH | {"valued_on": "2026-03-19"}).status_code == 303
