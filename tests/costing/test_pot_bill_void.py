"""A bill of one's own no longer counts, once that is confirmed."""

import pytest
from django.test import Client
from django.urls import reverse

from costing.models import PotBill
from fleet.models import Car
from tests.costing.pages import shown, text_of
from tests.factories import PotBillFactory

pytestmark = pytest.mark.usefixtures("today")


def page_of(bill: PotBill) -> str:
    return reverse("costing:pot-bill-void", args=[bill.pk])


def test_it_is_voided_with_a_reason(everyone: dict[str, Client], car: Car) -> None:
    bill = PotBillFactory(member=car.keeper, car=car, kind="other", words="Sign", amount="0.00", is_yearly=True)
    page = shown(everyone["keeper"], page_of(bill))
    assert "Sign, £0.00" in page
    assert "Nothing to pay, every year from 31 July 2026, QA51 ABC" in page
    for _ in range(2):
        response = everyone["keeper"].post(page_of(bill), {"reason": "entered twice"})
        assert (response.status_code, response.url) == (303, reverse("costing:pot"))
    bill.refresh_from_db()
    assert bill.voided_at is not None
    assert [row.history_change_reason for row in bill.history.all()] == ["Voided: entered twice", None]
    page = shown(everyone["keeper"], response.url)
    assert "Voided: Sign. It no longer counts." in page
    assert "Bills and quotes that you entered" not in page


def test_it_asks_why(everyone: dict[str, Client], car: Car) -> None:
    bill = PotBillFactory(member=car.keeper)
    assert "Fill this in." in text_of(everyone["keeper"].post(page_of(bill), {"reason": ""}))
    bill.refresh_from_db()
    assert bill.voided_at is None


def test_nobody_elses(everyone: dict[str, Client], car: Car) -> None:
    bill = PotBillFactory(member=car.keeper)
    assert everyone["coordinator"].get(page_of(bill)).status_code == 404
