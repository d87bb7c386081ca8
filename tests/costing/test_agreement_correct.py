"""The page that corrects how a car is held."""

from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from costing.models import Agreement
from fleet.models import Car
from tests.costing.pages import text_of
from tests.costing.test_agreement_add import HIRE_PURCHASE
from tests.factories import AgreementFactory

pytestmark = pytest.mark.usefixtures("today")


def address(agreement: Agreement, mark: str = "QA51ABC") -> str:
    return reverse("costing:agreement-correct", args=[mark, agreement.pk])


def test_its_terms_are_shown_and_corrected(everyone: dict[str, Client], car: Car) -> None:
    agreement = AgreementFactory(car=car)
    assert 'value="11800.00"' in everyone["keeper"].get(address(agreement)).content.decode()
    everyone["keeper"].post(address(agreement), HIRE_PURCHASE | {"price": "12,000"})
    agreement.refresh_from_db()
    assert agreement.price == Decimal("12000.00")
    assert [record.price for record in agreement.history.all()] == [Decimal("12000.00"), Decimal("11800.00")]


def test_it_cannot_start_on_the_day_of_another(everyone: dict[str, Client], car: Car) -> None:
    AgreementFactory(car=car, starts_on="2026-01-08")
    agreement = AgreementFactory(car=car)
    response = everyone["keeper"].post(address(agreement), HIRE_PURCHASE | {"starts_on": "2026-01-08"})
    assert "already starts on 8 January 2026" in text_of(response)


@pytest.mark.parametrize("who", ["colleague", "coordinator", "stranger"])
def test_the_agreement_of_another_is_not_there(
    everyone: dict[str, Client], car: Car, colleague_car: Car, who: str
) -> None:
    agreement = AgreementFactory(car=car)
    for mark in ("QA51ABC", "QB02XYZ"):
        assert everyone[who].post(address(agreement, mark), HIRE_PURCHASE | {"price": "1"}).status_code == 404
    agreement.refresh_from_db()
    assert agreement.price == Decimal("11800.00")


def test_somebody_not_signed_in_is_sent_to_sign_in(everyone: dict[str, Client], car: Car) -> None:
    response = everyone["anonymous"].post(address(AgreementFactory(car=car)), HIRE_PURCHASE)
    assert response.url.startswith(reverse("account_login"))
