"""The page /costs/new/: a sum paid or refunded, and what it covers."""

import re
from datetime import date
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from costing.models import CostEntry
from fleet.models import Car, Confirmation, DueItem
from instructors.models import Member
from tests.conftest import TODAY
from tests.costing.pages import cost_data, input_value, save, text_of
from tests.factories import ConfirmationFactory, CooperativeFactory, CostEntryFactory, DueItemFactory

COST_LOG = reverse("costing:cost-log")
COVER = {"covers_from": "2026-03-16", "covers_to": "2027-03-15"}

pytestmark = pytest.mark.usefixtures("today")


def test_a_cost_is_logged_with_all_that_was_said(everyone: dict[str, Client], car: Car) -> None:
    sent = cost_data(car, supplier="Corner Workshop", note="Exhaust, rear half")
    response = save(everyone["keeper"], COST_LOG, sent)
    assert (response.status_code, response.url) == (303, reverse("costing:home"))
    cost = CostEntry.objects.get()
    assert (cost.car, cost.member, cost.paid_on) == (car, car.keeper, date(2026, 3, 16))
    assert (cost.category, cost.amount, cost.covers_from) == ("repairs", Decimal("86.40"), None)
    assert (cost.supplier, cost.note) == ("Corner Workshop", "Exhaust, rear half")


def test_an_insurance_without_its_answer_is_asked_as_one_would_say_it(everyone: dict[str, Client], car: Car) -> None:
    page = text_of(save(everyone["keeper"], COST_LOG, cost_data(car, category="insurance", **COVER)))
    assert "Does this policy cover driving tuition? Choose one." in page
    assert "tuition? optional" not in page


def test_the_same_cost_sent_twice_is_logged_once(everyone: dict[str, Client], car: Car) -> None:
    sent = cost_data(car)
    save(everyone["keeper"], COST_LOG, sent)
    again = save(everyone["keeper"], COST_LOG, sent | {"amount": "1"}, follow=True)
    assert "Already logged, nothing was added" in text_of(again)
    assert CostEntry.objects.get().amount == Decimal("86.40")


@pytest.mark.parametrize("who", ["colleague", "coordinator", "stranger", "anonymous"])
def test_nobody_logs_on_the_car_of_another(everyone: dict[str, Client], car: Car, colleague_car: Car, who: str) -> None:
    everyone[who].post(COST_LOG, cost_data(car))
    assert not CostEntry.objects.exists()


@pytest.mark.parametrize("amount", ["20.00", "-20.00"])
def test_a_refund_is_below_nothing_with_or_without_a_minus_sign(
    everyone: dict[str, Client], car: Car, amount: str
) -> None:
    save(everyone["keeper"], COST_LOG, cost_data(car, amount=amount, refund="on"))
    assert CostEntry.objects.get().amount == Decimal("-20.00")


def test_cover_that_begins_after_a_gap_does_not_count_yet_and_the_answer_says_so(
    everyone: dict[str, Client], car: Car
) -> None:
    DueItemFactory(car=car, kind="vehicle_tax", due_on="2026-03-31")
    later = {"covers_from": "2026-05-01", "covers_to": "2027-04-30"}
    response = save(everyone["keeper"], COST_LOG, cost_data(car, category="vehicle_tax", **later), follow=True)
    assert "It begins on 1 May 2026, and the book has no cover for the days before that" in text_of(response)
    assert DueItem.objects.get(kind="vehicle_tax").due_on == date(2026, 3, 31)


@pytest.mark.parametrize("category", ["insurance", "vehicle_tax", "breakdown_cover"])
def test_cover_moves_what_is_due_on_the_car(everyone: dict[str, Client], car: Car, category: str) -> None:
    save(everyone["keeper"], COST_LOG, cost_data(car, category=category, tuition="yes", **COVER))
    assert CostEntry.objects.get().covers_to == date(2027, 3, 15)
    assert DueItem.objects.get(car=car, kind=category).due_on == date(2027, 3, 15)


def test_cover_that_ends_before_what_is_due_moves_nothing(everyone: dict[str, Client], car: Car) -> None:
    DueItemFactory(car=car, kind="insurance", due_on="2027-06-30")
    save(everyone["keeper"], COST_LOG, cost_data(car, category="insurance", tuition="yes", **COVER))
    assert DueItem.objects.get(kind="insurance").due_on == date(2027, 6, 30)


def test_a_refund_of_cover_moves_nothing(everyone: dict[str, Client], car: Car) -> None:
    save(everyone["keeper"], COST_LOG, cost_data(car, category="insurance", refund="on", **COVER))
    assert CostEntry.objects.get().amount == Decimal("-86.40")
    assert not DueItem.objects.exists()


def test_without_script_the_usual_cover_is_filled_in_to_be_checked(everyone: dict[str, Client], car: Car) -> None:
    response = save(everyone["keeper"], COST_LOG, cost_data(car, category="insurance"))
    page = response.content.decode()
    assert not CostEntry.objects.exists()
    assert "16 March 2026 to 15 March 2027 is filled in: check it and save again" in text_of(response)
    filled_in = {name: input_value(page, name) or "" for name in ("covers_from", "covers_to")}
    assert filled_in == COVER
    save(everyone["keeper"], COST_LOG, cost_data(car, category="insurance", tuition="yes") | filled_in)
    assert CostEntry.objects.get().covers_from == date(2026, 3, 16)


def test_tyres_are_asked_how_far_they_last_by_the_co_ops_own_figure(everyone: dict[str, Client], car: Car) -> None:
    CooperativeFactory(tyre_life_miles=22_000)
    response = save(everyone["keeper"], COST_LOG, cost_data(car, category="tyres"))
    assert input_value(response.content.decode(), "covers_miles") == "22000"
    save(everyone["keeper"], COST_LOG, cost_data(car, category="tyres", covers_miles="22,000"))
    assert CostEntry.objects.get().covers_miles == 22_000


def test_it_may_be_said_that_a_sum_covers_nothing(everyone: dict[str, Client], car: Car) -> None:
    save(everyone["keeper"], COST_LOG, cost_data(car, category="tyres", covers_nothing="on", covers_miles="9"))
    assert CostEntry.objects.get().covers_miles is None


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({"amount": "0"}, "amount", "a cost of nothing"),
        ({"amount": "150000"}, "amount", "Check the sum: one cost may be £99,999.99 at most."),
        ({"category": ""}, "category", "Choose one."),
        ({"covers_from": "2026-03-16"}, "covers_to", "last day it covers"),
        ({"covers_to": "2026-03-16"}, "covers_from", "first day it covers"),
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
    response = save(everyone["keeper"], COST_LOG, sent)
    page = response.content.decode()
    assert words in text_of(response)
    assert f'id="id_{field}_error"' in page
    assert input_value(page, "supplier") == "Corner Workshop"
    assert input_value(page, "ref") == sent["ref"]
    assert not CostEntry.objects.exists()


def test_after_a_fee_for_an_mot_the_page_asks_whether_the_car_has_passed(everyone: dict[str, Client], car: Car) -> None:
    response = save(everyone["keeper"], COST_LOG, cost_data(car, category="mot", amount="54.85"), follow=True)
    assert "The fee is logged. Has the car passed?" in text_of(response)


# --- What a policy covers, and what the work was ----------------------------------------------------------


@pytest.mark.parametrize(("answer", "is_met"), [("yes", [True]), ("no", [False]), ("unknown", [])])
def test_a_new_policy_is_asked_whether_it_covers_tuition(
    everyone: dict[str, Client], car: Car, answer: str, is_met: list[bool]
) -> None:
    ConfirmationFactory(car=car, confirmed_on=date(2025, 3, 16), is_met=True)
    sent = cost_data(car, category="insurance", **COVER)
    response = save(everyone["keeper"], COST_LOG, sent)
    assert 'id="id_tuition_error"' in response.content.decode()
    assert not CostEntry.objects.exists()
    for _ in range(2):
        save(everyone["keeper"], COST_LOG, sent | {"tuition": answer})
    assert CostEntry.objects.count() == 1
    answered = Confirmation.objects.filter(car=car).order_by("-confirmed_on")
    assert list(answered.values_list("is_met", flat=True))[: len(is_met)] == is_met
    assert answered.filter(confirmed_on=date(2026, 3, 16)).count() == len(is_met)


def test_a_policy_that_is_over_is_not_asked_about(everyone: dict[str, Client], car: Car) -> None:
    old = {"covers_from": "2024-03-16", "covers_to": "2025-03-15"}
    save(everyone["keeper"], COST_LOG, cost_data(car, category="insurance", **old))
    assert CostEntry.objects.count() == 1
    assert not Confirmation.objects.exists()


@pytest.mark.parametrize(("category", "kind"), [("mot", "mot"), ("servicing", "service"), ("tyres", "tyres")])
def test_paid_work_is_offered_to_be_recorded_as_done(
    everyone: dict[str, Client], car: Car, category: str, kind: str
) -> None:
    item = DueItemFactory(car=car, kind=kind)
    sent = cost_data(car, category=category, covers_miles="25000" if category == "tyres" else "")
    page = save(everyone["keeper"], COST_LOG, sent, follow=True).content.decode()
    assert f"{reverse('fleet:due-item-complete', args=[item.pk])}?cost={sent['ref']}" in page
    assert "Record it as done" in page


def test_what_is_not_in_the_book_yet_is_offered_to_be_entered(everyone: dict[str, Client], car: Car) -> None:
    page = save(everyone["keeper"], COST_LOG, cost_data(car, category="servicing"), follow=True).content.decode()
    assert f"{reverse('fleet:due-item-add', args=['QA51ABC'])}?kind=service" in page


@pytest.mark.parametrize("changes", [{"category": "repairs"}, {"category": "mot", "refund": "on"}])
def test_nothing_is_offered_for_what_is_no_work_done(
    everyone: dict[str, Client], car: Car, changes: dict[str, str]
) -> None:
    page = save(everyone["keeper"], COST_LOG, cost_data(car, **changes), follow=True).content.decode()
    assert "Record it as done" not in page


def test_words_with_a_link_let_nothing_else_through(everyone: dict[str, Client], car: Car) -> None:
    sent = cost_data(car, category="mot", supplier="<b>Corner</b>", note="<i>note</i>")
    page = save(everyone["keeper"], COST_LOG, sent, follow=True).content.decode()
    assert "<b>Corner" not in page
    assert "<i>note" not in page


def test_the_categories_stand_in_the_order_in_which_the_member_uses_them(
    everyone: dict[str, Client], car: Car, colleague: Member
) -> None:
    for category, count in (("parking_tolls", 3), ("cleaning", 2), ("repairs", 2)):
        for _ in range(count):
            CostEntryFactory(car=car, category=category, paid_on=date(2026, 2, 1) if category == "repairs" else TODAY)
    CostEntryFactory(car=car, category="other", paid_on=date(2024, 2, 1))
    CostEntryFactory(car=car, category="other", member=colleague)
    page = everyone["keeper"].get(COST_LOG).content.decode()
    keys = re.findall(r'name="category"[^>]*value="(\w+)"|value="(\w+)"[^>]*name="category"', page)
    assert [one or other for one, other in keys][:4] == ["parking_tolls", "cleaning", "repairs", "insurance"]
    assert len(keys) == 13
    # The rarer ones are folded away, unless one of them is chosen.
    assert page.index('value="insurance"') < page.index("Something else") < page.index('value="other"')
