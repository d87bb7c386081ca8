"""The page /costs/new/: a sum paid or refunded, and what it covers."""

from datetime import date
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from costing.models import CostEntry
from fleet.models import Car, DueItem
from tests.costing.pages import HTMX, cost_data, input_value, text_of
from tests.factories import CooperativeFactory, DueItemFactory

COST_LOG = reverse("costing:cost-log")
COVER = {"covers_from": "2026-03-16", "covers_to": "2027-03-15"}

pytestmark = pytest.mark.usefixtures("today")


def test_a_cost_is_logged_with_all_that_was_said(everyone: dict[str, Client], car: Car) -> None:
    sent = cost_data(car, supplier="Corner Workshop", note="Exhaust, rear half")
    response = everyone["keeper"].post(COST_LOG, sent)
    assert (response.status_code, response.url) == (303, reverse("costing:home"))
    cost = CostEntry.objects.get()
    assert (cost.car, cost.member, cost.paid_on) == (car, car.keeper, date(2026, 3, 16))
    assert (cost.category, cost.amount, cost.covers_from) == ("repairs", Decimal("86.40"), None)
    assert (cost.supplier, cost.note) == ("Corner Workshop", "Exhaust, rear half")


@pytest.mark.parametrize("headers", [{}, HTMX])
def test_the_same_cost_sent_twice_is_logged_once(
    everyone: dict[str, Client], car: Car, headers: dict[str, str]
) -> None:
    sent = cost_data(car)
    everyone["keeper"].post(COST_LOG, sent, headers=headers)
    again = everyone["keeper"].post(COST_LOG, sent | {"amount": "1"}, headers=headers, follow=True)
    assert "Already logged, nothing was added" in text_of(again)
    assert CostEntry.objects.get().amount == Decimal("86.40")


@pytest.mark.parametrize("who", ["colleague", "coordinator", "stranger", "anonymous"])
def test_nobody_logs_on_the_car_of_another(everyone: dict[str, Client], car: Car, colleague_car: Car, who: str) -> None:
    everyone[who].post(COST_LOG, cost_data(car))
    everyone[who].post(COST_LOG, cost_data(car), headers=HTMX)
    assert not CostEntry.objects.exists()


@pytest.mark.parametrize("amount", ["20.00", "-20.00"])
def test_a_refund_is_below_nothing_with_or_without_a_minus_sign(
    everyone: dict[str, Client], car: Car, amount: str
) -> None:
    everyone["keeper"].post(COST_LOG, cost_data(car, amount=amount, refund="on"))
    assert CostEntry.objects.get().amount == Decimal("-20.00")


@pytest.mark.parametrize("category", ["insurance", "vehicle_tax", "breakdown_cover"])
def test_cover_moves_what_is_due_on_the_car(everyone: dict[str, Client], car: Car, category: str) -> None:
    everyone["keeper"].post(COST_LOG, cost_data(car, category=category, **COVER))
    assert CostEntry.objects.get().covers_to == date(2027, 3, 15)
    assert DueItem.objects.get(car=car, kind=category).due_on == date(2027, 3, 15)


def test_cover_that_ends_before_what_is_due_moves_nothing(everyone: dict[str, Client], car: Car) -> None:
    DueItemFactory(car=car, kind="insurance", due_on="2027-06-30")
    everyone["keeper"].post(COST_LOG, cost_data(car, category="insurance", **COVER))
    assert DueItem.objects.get(kind="insurance").due_on == date(2027, 6, 30)


def test_a_refund_of_cover_moves_nothing(everyone: dict[str, Client], car: Car) -> None:
    everyone["keeper"].post(COST_LOG, cost_data(car, category="insurance", refund="on", **COVER))
    assert CostEntry.objects.get().amount == Decimal("-86.40")
    assert not DueItem.objects.exists()


def test_without_script_the_usual_cover_is_filled_in_to_be_checked(everyone: dict[str, Client], car: Car) -> None:
    response = everyone["keeper"].post(COST_LOG, cost_data(car, category="insurance"))
    page = response.content.decode()
    assert not CostEntry.objects.exists()
    assert "A year is filled in" in text_of(response)
    filled_in = {name: input_value(page, name) or "" for name in ("covers_from", "covers_to")}
    assert filled_in == COVER
    everyone["keeper"].post(COST_LOG, cost_data(car, category="insurance") | filled_in)
    assert CostEntry.objects.get().covers_from == date(2026, 3, 16)


def test_tyres_are_asked_how_far_they_last_by_the_co_ops_own_figure(everyone: dict[str, Client], car: Car) -> None:
    CooperativeFactory(tyre_life_miles=22_000)
    response = everyone["keeper"].post(COST_LOG, cost_data(car, category="tyres"))
    assert input_value(response.content.decode(), "covers_miles") == "22000"
    everyone["keeper"].post(COST_LOG, cost_data(car, category="tyres", covers_miles="22,000"))
    assert CostEntry.objects.get().covers_miles == 22_000


def test_it_may_be_said_that_a_sum_covers_nothing(everyone: dict[str, Client], car: Car) -> None:
    everyone["keeper"].post(COST_LOG, cost_data(car, category="tyres", covers_nothing="on", covers_miles="9"))
    assert CostEntry.objects.get().covers_miles is None


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({"amount": "0"}, "amount", "A cost of nothing"),
        ({"category": ""}, "category", "Choose one."),
        ({"covers_from": "2026-03-16"}, "covers_to", "last it covers"),
        ({"covers_to": "2026-03-16"}, "covers_from", "first it covers"),
        ({"covers_from": "2026-03-16", "covers_to": "2026-03-15"}, "covers_to", "before the first"),
        (COVER | {"covers_miles": "5000"}, "covers_miles", "not both"),
        ({"ended_on": "2026-03-16"}, "ended_on", "can end early"),
        ({"paid_on": "2026-03-17"}, "paid_on", "has not come yet"),
    ],
)
def test_what_cannot_be_is_refused_beside_its_field_and_all_typed_is_kept(
    everyone: dict[str, Client], car: Car, changes: dict[str, str], field: str, words: str
) -> None:
    sent = cost_data(car, supplier="Corner Workshop") | changes
    response = everyone["keeper"].post(COST_LOG, sent)
    page = response.content.decode()
    assert words in text_of(response)
    assert f'id="id_{field}_error"' in page
    assert input_value(page, "supplier") == "Corner Workshop"
    assert input_value(page, "ref") == sent["ref"]
    assert not CostEntry.objects.exists()


def test_a_fee_for_an_mot_is_told_to_be_no_pass(everyone: dict[str, Client], car: Car) -> None:
    response = everyone["keeper"].post(COST_LOG, cost_data(car, category="mot", amount="54.85"), headers=HTMX)
    assert "A fee paid is not yet a test passed" in text_of(response)
