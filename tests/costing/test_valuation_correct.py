"""The page that corrects what a car was worth."""

from datetime import date
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from costing.models import Valuation
from fleet.models import Car
from tests.costing.pages import text_of
from tests.factories import ValuationFactory

WORTH = {"valued_on": "2026-01-09", "value": "7,800"}

pytestmark = pytest.mark.usefixtures("today")


def address(valuation: Valuation) -> str:
    return reverse("costing:valuation-correct", args=["QA51ABC", valuation.pk])


def test_day_and_value_are_corrected(everyone: dict[str, Client], car: Car) -> None:
    valuation = ValuationFactory(car=car)
    assert 'value="7900.00"' in everyone["keeper"].get(address(valuation)).content.decode()
    everyone["keeper"].post(address(valuation), WORTH)
    valuation.refresh_from_db()
    assert (valuation.valued_on, valuation.value) == (date(2026, 1, 9), Decimal("7800.00"))
    assert valuation.history.count() == 2


def test_it_cannot_take_the_day_of_another(everyone: dict[str, Client], car: Car) -> None:
    ValuationFactory(car=car, valued_on="2026-01-09")
    valuation = ValuationFactory(car=car)
    assert "already recorded for 9 January 2026" in text_of(everyone["keeper"].post(address(valuation), WORTH))


@pytest.mark.parametrize("who", ["colleague", "coordinator", "stranger"])
def test_the_value_of_another_is_not_there(everyone: dict[str, Client], car: Car, who: str) -> None:
    valuation = ValuationFactory(car=car)
    assert everyone[who].post(address(valuation), WORTH).status_code == 404
    valuation.refresh_from_db()
    assert valuation.value == Decimal("7900.00")


def test_somebody_not_signed_in_is_sent_to_sign_in(everyone: dict[str, Client], car: Car) -> None:
    response = everyone["anonymous"].post(address(ValuationFactory(car=car)), WORTH)
    assert response.url.startswith(reverse("account_login"))
