"""The page on which a cost that comes again is entered once."""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from config import budgets
from costing.models import CostEntry, Repeat
from fleet.models import Car
from tests.costing.pages import new_ref, shown, text_of
from tests.factories import CostEntryFactory, RepeatFactory

ADD = reverse("costing:repeat-add")

pytestmark = pytest.mark.usefixtures("today")


def typed(car: Car, **changes: Any) -> dict[str, Any]:
    sent = {
        "ref": new_ref(),
        "car": car.registration,
        "category": "insurance",
        "amount": "£42.10",
        "interval": "month",
        "starts_on": "2025-12-03",
        "payments": "",
    }
    return sent | changes


def test_it_is_entered_with_all_that_was_said(everyone: dict[str, Client], car: Car) -> None:
    sent = typed(car, payments="10", covers_its_days="on", supplier="Hedge Mutual", note="By direct debit")
    response = everyone["keeper"].post(ADD, sent)
    repeat = Repeat.objects.get()
    assert (response.status_code, response.url) == (303, reverse("costing:repeat", args=[repeat.pk]))
    assert (repeat.car, repeat.member, repeat.ref) == (car, car.keeper, sent["ref"])
    assert (repeat.category, repeat.amount, repeat.interval) == ("insurance", Decimal("42.10"), "month")
    assert (repeat.starts_on, repeat.payments, repeat.covers_its_days) == (date(2025, 12, 3), 10, True)
    assert (repeat.supplier, repeat.note, repeat.made_until) == ("Hedge Mutual", "By direct debit", None)
    assert not CostEntry.objects.exists()
    page = shown(everyone["keeper"], response.url)
    assert "Entered: Insurance, every month from 3 December 2025" in page
    assert "What is due already is made within the hour" in page


def test_sent_twice_it_is_entered_once(everyone: dict[str, Client], car: Car) -> None:
    sent = typed(car)
    everyone["keeper"].post(ADD, sent)
    again = everyone["keeper"].post(ADD, sent | {"amount": "43.10"}, follow=True)
    assert "Already entered, nothing was added" in text_of(again)
    assert Repeat.objects.get().amount == Decimal("42.10")


@pytest.mark.parametrize(
    ("starts_on", "made_until"),
    [("2025-12-03", date(2026, 3, 3)), ("2026-03-16", None), ("2026-01-16", date(2026, 2, 16)), ("2026-05-01", None)],
)
def test_those_that_were_entered_already_are_not_made(
    everyone: dict[str, Client], car: Car, starts_on: str, made_until: date | None
) -> None:
    everyone["keeper"].post(ADD, typed(car, starts_on=starts_on, only_from_now="on"))
    assert Repeat.objects.get().made_until == made_until


def test_an_instalment_covers_what_its_agreement_says(everyone: dict[str, Client], car: Car) -> None:
    everyone["keeper"].post(ADD, typed(car, category="finance", amount="189", covers_its_days="on"))
    assert Repeat.objects.get().covers_its_days is False


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"amount": "0"}, "You need not enter a cost of nothing."),
        ({"amount": "-5"}, "must be between"),
        ({"category": ""}, "Choose one."),
        ({"interval": "day"}, "is not one of the available choices"),
        ({"starts_on": ""}, "Give a day."),
        ({"starts_on": "2019-01-01"}, "That is more than 5 years ago"),
        ({"payments": "0"}, "must be between"),
        ({"ref": "x"}, "Reload the page and try again."),
    ],
)
def test_what_cannot_be_is_said_beside_its_field(
    everyone: dict[str, Client], car: Car, changes: dict[str, str], words: str
) -> None:
    response = everyone["keeper"].post(ADD, typed(car, **changes))
    assert response.status_code == 200
    assert words in text_of(response)
    assert not Repeat.objects.exists()


def test_begun_long_ago_it_may_go_on_with_the_next(everyone: dict[str, Client], car: Car) -> None:
    everyone["keeper"].post(ADD, typed(car, starts_on="2019-01-01", only_from_now="on"))
    assert Repeat.objects.get().made_until == date(2026, 3, 1)


def test_beyond_the_most_that_run_it_is_refused_until_one_is_stopped(
    everyone: dict[str, Client], car: Car, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(budgets, "REPEATS_RUNNING", 2)
    ended = {"payments": 1, "starts_on": date(2026, 1, 31), "made_until": date(2026, 1, 31)}
    RepeatFactory.create(car=car, **ended)
    running, _ = RepeatFactory.create_batch(2, car=car)
    response = everyone["keeper"].post(ADD, typed(car))
    assert "You have 2 costs that repeat, which is the most: stop one of them first." in text_of(response)
    assert Repeat.objects.count() == 3
    Repeat.objects.filter(pk=running.pk).update(stopped_on=date(2026, 3, 1))
    everyone["keeper"].post(ADD, typed(car))
    assert Repeat.objects.count() == 4


@pytest.mark.parametrize("who", ["colleague", "coordinator", "stranger", "anonymous"])
def test_nobody_enters_one_on_the_car_of_another(
    everyone: dict[str, Client], car: Car, colleague_car: Car, who: str
) -> None:
    everyone[who].post(ADD, typed(car))
    assert not Repeat.objects.exists()


def test_the_reference_of_another_is_refused(everyone: dict[str, Client], car: Car, colleague_car: Car) -> None:
    sent = typed(car)
    everyone["keeper"].post(ADD, sent)
    response = everyone["colleague"].post(ADD, sent | {"car": colleague_car.registration})
    assert "This page is out of date" in text_of(response)
    assert Repeat.objects.get().member == car.keeper


def test_a_sum_far_from_what_it_usually_is_is_asked_about(everyone: dict[str, Client], car: Car) -> None:
    sent = typed(car, amount="4210", covers_its_days="on", starts_on="2026-03-20")
    asked = everyone["keeper"].post(ADD, sent)
    assert "£4,210 for 31 days of insurance? That is far from what it usually costs." in text_of(asked)
    assert not Repeat.objects.exists()
    form = asked.context["form"]
    assert "42.10" in [one.changes[0].value for one in form.asked["amount"][0].meanings]
    everyone["keeper"].post(ADD, sent | {"is_right": form.questions["amount"].key})
    assert Repeat.objects.get().amount == 4210


def test_the_same_once_more_is_asked_about_and_can_be_left_out(everyone: dict[str, Client], car: Car) -> None:
    sent = typed(car, starts_on="2026-04-09", payments="10")
    page = text_of(everyone["keeper"].post(ADD, sent, follow=True))
    assert "Entered: Insurance, every month from 9 April 2026" in page
    assert "What is due already" not in page
    twice = sent | {"ref": new_ref(), "starts_on": "2026-04-16"}
    asked = everyone["keeper"].post(ADD, twice)
    words = "£42.10 every month for insurance repeats already, from 9 April 2026 on. Is this another one?"
    assert words in text_of(asked)
    question = asked.context["form"].questions["amount"]
    assert [meant.words for meant in question.meanings] == ["Leave it out"]
    assert question.right == "Yes, another one"
    left_out = everyone["keeper"].post(ADD, twice | {"meant": question.meanings[0].value}, follow=True)
    assert "Left out: nothing was added." in text_of(left_out)
    assert Repeat.objects.count() == 1
    everyone["keeper"].post(ADD, twice | {"is_right": question.key})
    assert Repeat.objects.count() == 2


@pytest.mark.parametrize(
    "changes",
    [{"amount": "42.20"}, {"interval": "quarter"}, {"category": "breakdown_cover"}, {"ended": "2026-03-15"}],
)
def test_another_or_one_that_was_stopped_is_not_asked_about(
    everyone: dict[str, Client], car: Car, colleague_car: Car, changes: dict[str, str]
) -> None:
    first = {"category": "insurance", "amount": Decimal("42.10"), "starts_on": date(2026, 1, 9)}
    RepeatFactory.create(car=car, **first, stopped_on=changes.get("ended"))
    RepeatFactory.create(car=colleague_car, **first)
    assert everyone["keeper"].post(ADD, typed(car, starts_on="2026-04-09", **changes)).status_code == 303


def test_days_that_are_covered_already_are_asked_about(everyone: dict[str, Client], car: Car) -> None:
    CostEntryFactory.create(
        car=car, category="insurance", amount=500, covers_from=date(2025, 12, 1), covers_to=date(2026, 11, 30)
    )
    sent = typed(car, starts_on="2026-04-03", covers_its_days="on")
    asked = everyone["keeper"].post(ADD, sent)
    assert "The cover before lasts until 30 November 2026. Are these days to be covered twice?" in text_of(asked)
    question = asked.context["form"].questions["starts_on"]
    assert [meant.words for meant in question.meanings] == ["1 December 2026"]
    everyone["keeper"].post(ADD, sent | {"meant": question.meanings[0].value})
    assert Repeat.objects.get().starts_on == date(2026, 12, 1)
    Repeat.objects.all().delete()
    everyone["keeper"].post(ADD, sent | {"is_right": question.key})
    assert Repeat.objects.get().starts_on == date(2026, 4, 3)


def test_one_that_was_logged_by_hand_is_no_cover_twice(everyone: dict[str, Client], car: Car) -> None:
    days = {"covers_from": date(2025, 12, 3), "covers_to": date(2026, 1, 2)}
    CostEntryFactory.create(car=car, category="insurance", amount=Decimal("42.10"), paid_on=date(2025, 12, 3), **days)
    everyone["keeper"].post(ADD, typed(car, covers_its_days="on"))
    assert Repeat.objects.exists()


def test_nothing_is_asked_of_what_has_no_payment_to_come(everyone: dict[str, Client], car: Car) -> None:
    everyone["keeper"].post(ADD, typed(car, payments="1", only_from_now="on", amount="4210"))
    assert Repeat.objects.exists()


def test_what_pays_for_days_does_so_unless_the_tick_is_taken_away(everyone: dict[str, Client], car: Car) -> None:
    form = everyone["keeper"].get(ADD).context["form"]
    assert form["covers_its_days"].value() is True
    everyone["keeper"].post(ADD, typed(car, category="cleaning", amount="12", covers_its_days="on"))
    assert Repeat.objects.get().covers_its_days is False


@pytest.mark.usefixtures("db")
def test_without_a_car_the_page_says_so(everyone: dict[str, Client]) -> None:
    assert "no car" in shown(everyone["stranger"], ADD).lower()
