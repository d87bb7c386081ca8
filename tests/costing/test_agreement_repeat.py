"""The one tap by which an agreement's own instalments are entered as they fall due."""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from costing.actions import make_due, repeat_agreement, stop_repeat
from costing.models import Agreement, CostEntry, Repeat
from fleet.models import Car
from instructors.models import Member
from tests.costing.pages import new_ref, shown, text_of
from tests.factories import AgreementFactory, CostEntryFactory
from tests.fleet.keepers import hand_on

TODAY = date(2026, 3, 16)
PCP: dict[str, Any] = {
    "kind": "pcp",
    "starts_on": date(2026, 1, 31),
    "payment": Decimal("189.00"),
    "payments": 36,
    "fees": Decimal("150.00"),
    "final_payment": Decimal("5400.00"),
}

pytestmark = pytest.mark.usefixtures("today")


def repeat_address(agreement: Agreement) -> str:
    return reverse("costing:agreement-repeat", args=[agreement.car.registration, agreement.pk])


def pages_of(agreement: Agreement) -> list[str]:
    car = agreement.car.registration
    return [
        reverse("costing:car-cost", args=[car]),
        reverse("costing:agreement-correct", args=[car, agreement.pk]),
    ]


def test_once_recorded_it_proposes_exactly_what_falls_due(everyone: dict[str, Client], car: Car) -> None:
    agreement = AgreementFactory.create(car=car, **PCP)
    for page in pages_of(agreement):
        words = shown(everyone["keeper"], page)
        assert "36 payments of £189.00, every month, the first on 28 February 2026." in words
        assert "With the fees the first is £339.00." in words
        assert "With the final payment the last, on 31 January 2029, is £5,589.00." in words
        assert "One has fallen due already." in words


def test_one_tap_enters_it(everyone: dict[str, Client], car: Car) -> None:
    agreement = AgreementFactory.create(car=car, **PCP)
    response = everyone["keeper"].post(repeat_address(agreement), {"ref": new_ref()})
    assert (response.status_code, response.url) == (303, reverse("costing:repeat-list"))
    repeat = Repeat.objects.get()
    assert (repeat.agreement, repeat.category, repeat.interval, repeat.payments) == (agreement, "finance", "month", 36)
    make_due(repeat.pk, date(2026, 4, 30))
    made = CostEntry.objects.order_by("paid_on").values_list("paid_on", "amount", "category")
    assert list(made) == [
        (date(2026, 2, 28), 339, "finance"),
        (date(2026, 3, 31), 189, "finance"),
        (date(2026, 4, 30), 189, "finance"),
    ]
    for page in pages_of(agreement):
        assert "Its payments are entered for you" in shown(everyone["keeper"], page)


def test_a_weekly_rental_is_entered_as_rental(everyone: dict[str, Client], car: Car) -> None:
    terms = {
        "kind": "weekly_rental",
        "payment": 136,
        "payments": 78,
        "frequency": "week",
        "price": None,
        "deposit": None,
    }
    agreement = AgreementFactory.create(car=car, starts_on=date(2026, 3, 16), **terms)
    page = shown(everyone["keeper"], pages_of(agreement)[0])
    assert "Payments of £136.00, every week, the first on 23 March 2026. It goes on until you stop it" in page
    assert "Enter them as they fall due" in page
    everyone["keeper"].post(repeat_address(agreement), {"ref": new_ref()})
    repeat = Repeat.objects.get()
    assert (repeat.category, repeat.interval, repeat.fees, repeat.final_payment) == ("rental", "week", None, None)
    make_due(repeat.pk, date(2026, 3, 30))
    assert list(CostEntry.objects.order_by("paid_on").values_list("paid_on", flat=True)) == [
        date(2026, 3, 23),
        date(2026, 3, 30),
    ]


@pytest.mark.parametrize("kind", ["contract_hire", "weekly_rental"])
def test_a_hire_past_its_term_is_entered_until_it_is_stopped(car: Car, keeper: Member, kind: str) -> None:
    terms = {"kind": kind, "payment": 136, "payments": 4, "frequency": "week", "price": None, "deposit": None}
    agreement = AgreementFactory.create(car=car, starts_on=date(2026, 1, 1), **terms)
    repeat, _ = repeat_agreement(by=keeper, agreement=agreement, ref=new_ref(), today=TODAY)
    assert (repeat.payments, make_due(repeat.pk, TODAY)) == (None, 10)
    stop_repeat(by=keeper, repeat=repeat, stopped_on=TODAY)
    assert make_due(repeat.pk, date(2026, 12, 31)) == 0


def test_a_hire_past_its_term_is_still_proposed(everyone: dict[str, Client], car: Car) -> None:
    terms = {"kind": "contract_hire", "payment": 136, "payments": 1, "price": None, "deposit": None}
    agreement = AgreementFactory.create(car=car, starts_on=date(2026, 1, 1), **terms)
    for page in pages_of(agreement):
        assert "It goes on until you stop it, as the hire does." in shown(everyone["keeper"], page)


def test_only_those_to_come(everyone: dict[str, Client], car: Car) -> None:
    agreement = AgreementFactory.create(car=car, **PCP)
    everyone["keeper"].post(repeat_address(agreement), {"ref": new_ref(), "only_from_now": "1"})
    assert Repeat.objects.get().made_until == date(2026, 2, 28)


def test_those_logged_by_hand_are_not_entered_again(car: Car, keeper: Member) -> None:
    agreement = AgreementFactory.create(car=car, **PCP)
    CostEntryFactory.create(car=car, category="finance", amount=339, paid_on=date(2026, 3, 2))
    repeat, _ = repeat_agreement(by=keeper, agreement=agreement, ref=new_ref(), today=TODAY)
    assert make_due(repeat.pk, TODAY) == 0


def test_tapped_twice_or_on_two_pages_it_is_entered_once(everyone: dict[str, Client], car: Car) -> None:
    agreement = AgreementFactory.create(car=car, **PCP)
    for _ in range(2):
        again = everyone["keeper"].post(repeat_address(agreement), {"ref": new_ref()}, follow=True)
    assert "Already entered, nothing was added" in text_of(again)
    assert Repeat.objects.count() == 1


def test_once_stopped_it_is_proposed_again(everyone: dict[str, Client], car: Car, keeper: Member) -> None:
    agreement = AgreementFactory.create(car=car, **PCP)
    repeat, _ = repeat_agreement(by=keeper, agreement=agreement, ref=new_ref(), today=TODAY)
    stop_repeat(by=keeper, repeat=repeat, stopped_on=TODAY)
    assert "Have its payments entered for you?" in shown(everyone["keeper"], pages_of(agreement)[1])


@pytest.mark.parametrize(
    "terms",
    [
        {"kind": "owned", "payment": None, "payments": None, "frequency": ""},
        {"kind": "contract_hire", "payment": Decimal(0)},
        {"payments": 1, "starts_on": date(2026, 1, 1)},
    ],
)
def test_nothing_is_proposed_where_nothing_is_to_come(
    everyone: dict[str, Client], car: Car, terms: dict[str, Any]
) -> None:
    agreement = AgreementFactory.create(car=car, **terms)
    for page in pages_of(agreement):
        assert "entered for you" not in everyone["keeper"].get(page).content.decode()


def test_one_without_instalments_is_refused(everyone: dict[str, Client], car: Car) -> None:
    agreement = AgreementFactory.create(car=car, kind="owned", payment=None, payments=None, frequency="")
    response = everyone["keeper"].post(repeat_address(agreement), {"ref": new_ref()}, follow=True)
    assert "This agreement has no payments that repeat." in text_of(response)


def test_a_former_keeper_is_offered_nothing(
    everyone: dict[str, Client], car: Car, colleague: Member, coordinator: Member
) -> None:
    agreement = AgreementFactory.create(car=car, **PCP)
    hand_on(car, colleague, date(2026, 3, 10), coordinator)
    assert "entered for you" not in everyone["keeper"].get(pages_of(agreement)[0]).content.decode()
    response = everyone["keeper"].post(repeat_address(agreement), {"ref": new_ref()}, follow=True)
    assert "Only the car's keeper" in text_of(response)
    assert not Repeat.objects.exists()


@pytest.mark.parametrize("who", ["colleague", "coordinator", "stranger"])
def test_another_cannot(everyone: dict[str, Client], car: Car, who: str) -> None:
    agreement = AgreementFactory.create(car=car, **PCP)
    assert everyone[who].post(repeat_address(agreement), {"ref": new_ref()}).status_code == 404
