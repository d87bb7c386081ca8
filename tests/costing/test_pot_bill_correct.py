"""A bill of one's own is put right; its history keeps what it was."""

from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.test import Client
from django.urls import reverse

from costing.models import PotBill
from costing.planning.services.pot_plan import correct_pot_bill
from fleet.models import Car
from instructors.models import Member
from tests.costing.pages import shown, text_of
from tests.factories import CarFactory, PotBillFactory

pytestmark = pytest.mark.usefixtures("today")


def page_of(bill: PotBill) -> str:
    return reverse("costing:pot-bill-correct", args=[bill.pk])


def test_it_is_put_right(everyone: dict[str, Client], car: Car) -> None:
    # A car that the member no longer keeps stays one that can be chosen.
    bill = PotBillFactory(member=car.keeper, car=CarFactory(registration="QC03OLD"), kind="mot", due_on=None)
    assert '<option value="QC03OLD" selected>' in everyone["keeper"].get(page_of(bill)).content.decode()
    sent = {"kind": "mot", "amount": "54.85", "due_on": "2026-10-02", "car": "QC03OLD"}
    response = everyone["keeper"].post(page_of(bill), sent)
    assert (response.status_code, response.url) == (303, reverse("costing:pot"))
    bill.refresh_from_db()
    assert (bill.amount, str(bill.due_on)) == (Decimal("54.85"), "2026-10-02")
    page = shown(everyone["keeper"], page_of(bill))
    assert "amount: £612.40 became £54.85" in page.replace("Amount", "amount")


@pytest.mark.parametrize("who", ["colleague", "coordinator", "stranger"])
def test_nobody_elses(everyone: dict[str, Client], car: Car, who: str) -> None:
    bill = PotBillFactory(member=car.keeper)
    assert everyone[who].get(page_of(bill)).status_code == 404
    assert everyone[who].post(page_of(bill), {"amount": "1"}).status_code == 404


def test_the_action_refuses_anybody_else(car: Car, stranger: Member) -> None:
    with pytest.raises(ValidationError, match="Only whoever entered it"):
        correct_pot_bill(by=stranger, bill=PotBillFactory(member=car.keeper), changes={"amount": Decimal(1)})


def test_a_voided_one_stays_as_it_is(everyone: dict[str, Client], car: Car) -> None:
    bill = PotBillFactory(member=car.keeper, voided_at="2026-03-16T09:00Z")
    assert "This bill was voided and no longer counts." in shown(everyone["keeper"], page_of(bill))
    sent = {"kind": "tax_bill", "amount": "1.00", "due_on": "2026-07-31"}
    assert "This bill was voided" in text_of(everyone["keeper"].post(page_of(bill), sent))
    bill.refresh_from_db()
    assert bill.amount == Decimal("612.40")


def test_what_it_said_before_is_not_asked_again(everyone: dict[str, Client], car: Car) -> None:
    bill = PotBillFactory(member=car.keeper, due_on="2020-07-31", amount="90000.00")
    sent = {"kind": "tax_bill", "amount": "90000.00", "due_on": "2020-07-31", "car": ""}
    assert everyone["keeper"].post(page_of(bill), sent).status_code == 303
    response = everyone["keeper"].post(page_of(bill), sent | {"due_on": "2020-01-31"})
    assert "31 January 2020 has passed. Has it been paid?" in text_of(response)


def test_it_is_not_the_same_as_itself_but_as_another(everyone: dict[str, Client], car: Car) -> None:
    bill = PotBillFactory(member=car.keeper, amount="640.00")
    PotBillFactory(member=car.keeper)
    sent = {"kind": "tax_bill", "amount": "640.00", "due_on": "2026-07-31", "car": ""}
    assert everyone["keeper"].post(page_of(bill), sent).status_code == 303
    response = everyone["keeper"].post(page_of(bill), sent | {"amount": "612.40"})
    assert "is in your list already. Is this another one?" in text_of(response)
    assert "Leave it out" not in text_of(response)
