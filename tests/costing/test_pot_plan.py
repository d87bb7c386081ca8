"""What is in the pot, what is put by, and when nothing is."""

from datetime import date
from decimal import Decimal
from types import SimpleNamespace
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from costing.models import PotPlan
from costing.planning.pictures.pot_words import illness_of
from fleet.models import Car
from tests.costing.pages import save, shown, text_of
from tests.factories import AgreementFactory, PotBillFactory, PotPlanFactory

PLAN = reverse("costing:pot-plan")

pytestmark = pytest.mark.usefixtures("today")


def typed(**changes: Any) -> dict[str, Any]:
    return {"balance": "£420", "balance_on": "2026-03-14", "weekly": "", "ill_weeks": ""} | changes


def test_it_is_saved_with_all_that_was_said(everyone: dict[str, Client], car: Car) -> None:
    sent = typed(
        weekly="60",
        ill_weeks="6",
        off_1_from="2026-08-01",
        off_1_to="2026-08-14",
        off_2_from="2026-05-04",
        off_2_to="2026-05-04",
    )
    response = everyone["keeper"].post(PLAN, sent)
    assert (response.status_code, response.url) == (303, reverse("costing:pot"))
    plan = PotPlan.objects.get()
    assert (plan.member, plan.balance, plan.balance_on) == (car.keeper, Decimal(420), date(2026, 3, 14))
    assert (plan.weekly, plan.ill_weeks, plan.hire_pauses, plan.keeps_car) == (Decimal(60), 6, False, None)
    # They stand in order.
    assert plan.holidays == [["2026-05-04", "2026-05-04"], ["2026-08-01", "2026-08-14"]]
    assert "Saved: £420.00 in the pot." in shown(everyone["keeper"], response.url)


def test_a_change_keeps_what_it_was(everyone: dict[str, Client], car: Car) -> None:
    PotPlanFactory(member=car.keeper, weekly="60.00", holidays=[["2026-08-01", "2026-08-14"]])
    page = everyone["keeper"].get(PLAN).content.decode()
    assert "You last said £420.00 on 16 March 2026." in text_of(everyone["keeper"].get(PLAN))
    assert 'value="60.00"' in page
    assert 'value="2026-08-14"' in page
    # The balance is asked anew.
    assert 'value="420.00"' not in page
    everyone["keeper"].post(PLAN, typed(balance="380.00"))
    plan = PotPlan.objects.get()
    assert (plan.balance, plan.weekly, plan.holidays) == (Decimal(380), None, [])
    assert plan.history.first().history_change_reason == "Changed"


def test_a_holiday_that_ends_before_it_begins_is_refused_by_its_name(everyone: dict[str, Client], car: Car) -> None:
    page = text_of(everyone["keeper"].post(PLAN, typed(off_2_from="2026-08-14", off_2_to="2026-08-01")))
    assert "Holiday 2, to: The last day must not lie before the first." in page


@pytest.mark.parametrize(
    ("worst", "words"), [(date(2026, 3, 16), "ill today."), (date(2026, 4, 24), "ill on 24 April.")]
)
def test_the_worst_day_to_fall_ill_is_said_as_people_say_it(worst: date, words: str) -> None:
    ill = SimpleNamespace(weeks=6, extra=71_60, worst_from=worst)
    smallest = SimpleNamespace(weekly=0, short=0)
    report = SimpleNamespace(illness=ill, bills=SimpleNamespace(known=()), smallest=smallest, today=date(2026, 3, 16))
    assert f"The worst would be to fall {words}" in illness_of(report)


def test_the_same_again_changes_nothing(everyone: dict[str, Client], car: Car) -> None:
    for _ in range(2):
        everyone["keeper"].post(PLAN, typed())
    assert PotPlan.objects.get().history.count() == 1


@pytest.mark.parametrize(
    ("kind", "asked"),
    [("weekly_rental", "hire_pauses"), ("pcp", "keeps_car"), ("hire_purchase", ""), ("contract_hire", "hire_pauses")],
)
def test_only_what_the_agreement_leaves_open_is_asked(
    everyone: dict[str, Client], car: Car, kind: str, asked: str
) -> None:
    AgreementFactory(car=car, kind=kind)
    page = everyone["keeper"].get(PLAN).content.decode()
    assert {name for name in ("hire_pauses", "keeps_car") if f'name="{name}"' in page} == ({asked} - {""})


@pytest.mark.parametrize(("answer", "kept"), [("yes", True), ("no", False), ("", None)])
def test_what_becomes_of_the_car(everyone: dict[str, Client], car: Car, answer: str, kept: bool | None) -> None:
    AgreementFactory(car=car, kind="pcp")
    everyone["keeper"].post(PLAN, typed(keeps_car=answer))
    assert PotPlan.objects.get().keeps_car is kept


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"balance": ""}, "Fill this in."),
        ({"balance": "-5"}, "must be between"),
        ({"balance_on": "2026-03-17"}, "has not come yet"),
        ({"ill_weeks": "27"}, "must be between 0 and 26 weeks"),
        ({"off_1_from": "2026-08-14", "off_1_to": "2026-08-01"}, "The last day must not lie before the first."),
        ({"off_1_from": "soon"}, "Write the day like"),
        ({"balance_on": "2025-03-15"}, "That is more than a year ago: say what is in the pot now."),
        ({"off_1_from": "2026-03-01", "off_1_to": "2026-03-15"}, "Holiday 1, to: This holiday is over: leave it out."),
        ({"off_2_from": "2026-12-19"}, "Holiday 2, to: Give its last day too: for one day off, the same day."),
        ({"off_1_to": "2026-12-19"}, "Holiday 1, from: Give its first day too: for one day off, the same day."),
        ({"off_1_from": "2026-12-19", "off_1_to": "soon"}, "Holiday 1, to: Write the day like"),
    ],
)
def test_what_will_not_do_is_said(everyone: dict[str, Client], car: Car, changes: dict[str, str], words: str) -> None:
    assert words in text_of(everyone["keeper"].post(PLAN, typed(**changes)))
    assert not PotPlan.objects.exists()


def test_a_balance_of_a_year_ago_and_a_holiday_that_ends_today_will_do(everyone: dict[str, Client], car: Car) -> None:
    sent = typed(balance_on="2025-03-16", off_1_from="2026-03-01", off_1_to="2026-03-16")
    assert everyone["keeper"].post(PLAN, sent).status_code == 303
    assert PotPlan.objects.get().holidays == [["2026-03-01", "2026-03-16"]]


def test_a_holiday_that_is_over_by_now_is_offered_no_more(everyone: dict[str, Client], car: Car) -> None:
    over, ahead = ["2026-02-01", "2026-02-14"], ["2026-08-01", "2026-08-14"]
    PotPlanFactory(member=car.keeper, balance_on="2025-01-05", holidays=[over, ahead])
    page = everyone["keeper"].get(PLAN).content.decode()
    assert over[1] not in page
    # The balance that is kept may be old: the page of the pot says so.
    sent = typed(balance="", off_1_from=ahead[0], off_1_to=ahead[1])
    assert everyone["keeper"].post(PLAN, sent).status_code == 303
    assert (PotPlan.objects.get().holidays, PotPlan.objects.get().balance_on) == ([ahead], date(2025, 1, 5))


def test_ill_for_no_week_is_to_plan_for_none(everyone: dict[str, Client], car: Car) -> None:
    assert everyone["keeper"].post(PLAN, typed(ill_weeks="0")).status_code == 303
    assert PotPlan.objects.get().ill_weeks is None


def test_more_than_half_a_year_of_holiday_is_asked_about(everyone: dict[str, Client], car: Car) -> None:
    sent = typed(off_1_from="2026-03-16", off_1_to="2027-03-10")
    words = "51 weeks of holiday in these 12 months? Nothing is put by in any of them."
    response = everyone["keeper"].post(PLAN, sent)
    assert words in text_of(response)
    assert "Whole weeks from today: one with four days of holiday or more counts" in text_of(response)
    assert save(everyone["keeper"], PLAN, sent).status_code == 303
    # What was said is not asked again.
    assert everyone["keeper"].post(PLAN, sent).status_code == 303


# --- What can hardly be right -----------------------------------------------------------------------------


def test_a_nought_too_many_is_asked_about(everyone: dict[str, Client], car: Car) -> None:
    PotBillFactory(member=car.keeper)
    response = everyone["keeper"].post(PLAN, typed(balance="42000", weekly="600"))
    page = text_of(response)
    assert "£42,000 in the pot? The bills of the next 12 months come to £612.40." in page
    assert "£600 each week? The bills of the next 12 months come to £11.78 a week." in page
    assert not PotPlan.objects.exists()
    assert "£420" in [likely.words for likely in response.context["form"].questions["balance"].meanings]
    assert save(everyone["keeper"], PLAN, typed(balance="42000", weekly="600")).status_code == 303
    assert PotPlan.objects.get().balance == Decimal(42_000)


def test_a_key_puts_it_right(everyone: dict[str, Client], car: Car) -> None:
    response = everyone["keeper"].post(PLAN, typed(balance="42000"))
    assert "£42,000 in the pot? That is far more than a car’s bills usually come to." in text_of(response)
    meant = response.context["form"].questions["balance"].meanings[0].value
    assert everyone["keeper"].post(PLAN, typed(balance="42000", meant=meant)).status_code == 303
    assert PotPlan.objects.get().balance == Decimal(420)


def test_what_was_found_right_is_not_asked_again(everyone: dict[str, Client], car: Car) -> None:
    PotPlanFactory(member=car.keeper, balance="42000.00", weekly="6000.00")
    assert everyone["keeper"].post(PLAN, typed(balance="41000", weekly="6000.00")).status_code == 303
    response = everyone["keeper"].post(PLAN, typed(balance="410000.00", weekly="6000.00"))
    assert response.status_code == 200


def test_an_empty_balance_keeps_the_last_one_with_its_day(everyone: dict[str, Client], car: Car) -> None:
    sent = typed(balance="", balance_on="2026-03-16", ill_weeks="4")
    assert PotPlan.objects.count() == 0
    assert "In the pot" in text_of(everyone["keeper"].post(PLAN, sent))
    assert PotPlan.objects.count() == 0, "the first time there is none to keep"
    PotPlanFactory(member=car.keeper, balance="420.00", balance_on="2026-03-02")
    assert "Leave it empty to keep £420.00 from 2 March 2026." in shown(everyone["keeper"], PLAN)
    assert everyone["keeper"].post(PLAN, sent).status_code == 303
    plan = PotPlan.objects.get()
    assert (plan.balance, plan.balance_on, plan.ill_weeks) == (Decimal(420), date(2026, 3, 2), 4)
    assert everyone["keeper"].post(PLAN, typed(balance="0", balance_on="2026-03-16")).status_code == 303
    plan.refresh_from_db()
    assert (plan.balance, plan.balance_on) == (Decimal(0), date(2026, 3, 16)), "nothing is a balance too"
