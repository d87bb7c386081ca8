"""The page of what one car costs its member: how it is held, what it is worth, and the way to its statements."""

from datetime import date

import pytest
from django.test import Client
from django.urls import reverse

from fleet.models import Car
from instructors.models import Member
from tests.costing.pages import shown, text_of
from tests.factories import AgreementFactory, CostEntryFactory, KeeperTimeFactory, ValuationFactory

COST = reverse("costing:car-cost", args=["QA51ABC"])

pytestmark = pytest.mark.usefixtures("today")


def test_it_leads_to_the_statement_of_the_car_where_the_figures_live(everyone: dict[str, Client], car: Car) -> None:
    CostEntryFactory(car=car, paid_on="2026-02-10", amount="30.00")
    page = everyone["keeper"].get(COST).content.decode()
    assert f'href="{reverse("costing:statement")}?car=QA51ABC">What it cost you</a>' in page
    assert "30.00" not in page
    assert "30.00 true cost" in shown(everyone["keeper"], f"{reverse('costing:statement')}?car=QA51ABC")


@pytest.mark.parametrize(
    ("starts_on", "words"), [("2026-03-16", "began on 16 March 2026"), ("2026-03-17", "begins on 17 March 2026")]
)
def test_an_agreement_to_come_begins_and_another_began(
    everyone: dict[str, Client], car: Car, starts_on: str, words: str
) -> None:
    AgreementFactory(car=car, starts_on=starts_on)
    assert words in shown(everyone["keeper"], COST)


def test_what_is_not_recorded_is_said_to_be_so(everyone: dict[str, Client], car: Car) -> None:
    page = shown(everyone["keeper"], COST)
    assert "Not recorded yet. Without it, the true cost leaves out loss of value, interest and rental." in page
    assert "No value recorded." in page


@pytest.mark.parametrize("who", ["colleague", "coordinator", "stranger"])
def test_the_costs_of_anothers_car_are_not_there(everyone: dict[str, Client], car: Car, who: str) -> None:
    assert everyone[who].get(COST).status_code == 404
    assert everyone[who].get(reverse("costing:car-cost", args=["QZ99ZZZ"])).status_code == 404


def test_somebody_not_signed_in_is_sent_to_sign_in(everyone: dict[str, Client], car: Car) -> None:
    assert everyone["anonymous"].get(COST).url.startswith(reverse("account_login"))


def test_a_car_handed_on_shows_each_keeper_their_own_records_only(
    everyone: dict[str, Client], colleague: Member, car: Car
) -> None:
    ValuationFactory(car=car)
    AgreementFactory(car=car, starts_on=date(2026, 1, 5), price="8123.00")
    KeeperTimeFactory(car=car, keeper=car.keeper, from_on="2024-01-08", to_on="2026-02-10")
    KeeperTimeFactory(car=car, keeper=colleague, from_on="2026-02-11")
    car.keeper = colleague
    car.save()
    before, now = shown(everyone["keeper"], COST), shown(everyone["colleague"], COST)
    assert "£7,900.00" in before
    assert "£8,123.00" in before
    assert "Record what it is worth" not in before
    assert "Record what it is worth" in now
    assert "7,900" not in now
    assert "8,123" not in now


def test_the_mark_may_be_typed_as_it_is_spoken(everyone: dict[str, Client], car: Car) -> None:
    response = everyone["keeper"].get(reverse("costing:car-cost", args=["qa51 abc"]))
    assert "What QA51 ABC costs" in text_of(response)
