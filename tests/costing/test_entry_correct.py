"""The page of one entry: corrected, with what it was before."""

from datetime import date
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from costing.actions import correct_entry, log_cost, void_entry
from costing.models import CostEntry, Fill, TeachingRecord
from fleet.models import Car, DueItem
from instructors.models import Member
from tests.costing.pages import new_ref, save, shown, text_of
from tests.factories import CostEntryFactory, FillFactory, TeachingRecordFactory

pytestmark = pytest.mark.usefixtures("today")


def address(kind: str, pk: int) -> str:
    return reverse("costing:entry-correct", args=[kind, pk])


def test_a_fill_is_corrected_and_its_history_shows_both(everyone: dict[str, Client], car: Car) -> None:
    fill = FillFactory(car=car)
    sent = {
        "amount": "49.72",
        "quantity": "34.5",
        "odometer": "48,200",
        "filled_on": "2026-03-02",
        "brimmed": "on",
    }
    response = everyone["keeper"].post(address("fill", fill.pk), sent)
    assert (response.status_code, response.url) == (303, reverse("costing:entries"))
    assert Fill.objects.get().amount == Decimal("49.72")
    page = shown(everyone["keeper"], address("fill", fill.pk))
    assert "Corrected Amount: £47.92 became £49.72 Wren Applegarth, 16 March 2026, 12:00" in page


def test_a_cost_is_corrected(everyone: dict[str, Client], car: Car) -> None:
    cost = CostEntryFactory(car=car)
    sent = {"category": "servicing", "amount": "90", "paid_on": "2026-03-01", "refund": "on"}
    save(everyone["keeper"], address("cost", cost.pk), sent)
    cost.refresh_from_db()
    assert (cost.category, cost.amount, cost.paid_on) == ("servicing", Decimal("-90.00"), date(2026, 3, 1))
    page = shown(everyone["keeper"], address("cost", cost.pk))
    assert "Category: Repairs became Servicing" in page
    assert "Paid on: 2 March 2026 became 1 March 2026" in page


def test_lessons_are_corrected(everyone: dict[str, Client], car: Car) -> None:
    record = TeachingRecordFactory(car=car)
    sent = {
        "lesson_count": "17",
        "minutes": "25:30",
        "private_miles": "0",
        "from_on": "2026-02-23",
        "to_on": "2026-03-01",
    }
    everyone["keeper"].post(address("lessons", record.pk), sent)
    record.refresh_from_db()
    assert (record.lesson_count, record.minutes, record.private_miles) == (17, 1_530, 0)


@pytest.mark.parametrize("kind", ["fill", "cost", "lessons"])
def test_a_form_saved_as_it_was_shown_changes_nothing(everyone: dict[str, Client], car: Car, kind: str) -> None:
    factory = {"fill": FillFactory, "cost": CostEntryFactory, "lessons": TeachingRecordFactory}[kind]
    entry = factory(car=car)
    form = everyone["keeper"].get(address(kind, entry.pk)).context["form"]
    sent = {name: form[name].value() for name in form.fields if form[name].value() not in {None, False}}
    response = everyone["keeper"].post(address(kind, entry.pk), sent)
    assert response.status_code == 303
    assert entry.history.count() == 1


@pytest.mark.parametrize("who", ["colleague", "coordinator", "stranger"])
@pytest.mark.parametrize("kind", ["fill", "cost", "lessons"])
def test_the_entry_of_another_is_not_there(everyone: dict[str, Client], car: Car, who: str, kind: str) -> None:
    factory = {"fill": FillFactory, "cost": CostEntryFactory, "lessons": TeachingRecordFactory}[kind]
    entry = factory(car=car)
    assert everyone[who].get(address(kind, entry.pk)).status_code == 404
    assert everyone[who].post(address(kind, entry.pk), {"amount": "1"}).status_code == 404
    assert everyone[who].get(address(kind, entry.pk + 99)).status_code == 404
    assert entry.history.count() == 1


def test_somebody_not_signed_in_is_sent_to_sign_in(everyone: dict[str, Client], car: Car) -> None:
    entry = CostEntryFactory(car=car)
    assert everyone["anonymous"].post(address("cost", entry.pk)).url.startswith(reverse("account_login"))


def test_an_action_refuses_whoever_did_not_log_the_entry(colleague: Member, car: Car) -> None:
    entry = CostEntryFactory(car=car)
    with pytest.raises(PermissionError):
        correct_entry(by=colleague, entry=entry, changes={"amount": Decimal("1.00")})
    with pytest.raises(PermissionError):
        void_entry(by=colleague, entry=entry, reason="not mine")


def test_a_correction_that_cannot_be_is_refused_and_keeps_what_was_typed(everyone: dict[str, Client], car: Car) -> None:
    FillFactory(car=car, filled_on="2026-02-20", odometer=47_800)
    fill = FillFactory(car=car)
    sent = {"amount": "49.72", "quantity": "34.5", "odometer": "47,000", "filled_on": "2026-03-02"}
    response = everyone["keeper"].post(address("fill", fill.pk), sent)
    assert "On 20 February 2026 it showed 47,800 miles" in text_of(response)
    assert 'value="47,000"' in response.content.decode()
    fill.refresh_from_db()
    assert fill.odometer == 48_200


def test_an_odometer_typed_too_high_can_be_put_right(everyone: dict[str, Client], car: Car) -> None:
    fill = FillFactory(car=car, odometer=84_200)
    sent = {"amount": "47.92", "quantity": "34.5", "odometer": "48,200", "filled_on": "2026-03-02"}
    assert everyone["keeper"].post(address("fill", fill.pk), sent).status_code == 303
    fill.refresh_from_db()
    assert fill.odometer == 48_200


def test_a_voided_entry_cannot_be_corrected(everyone: dict[str, Client], keeper: Member, car: Car) -> None:
    cost = CostEntryFactory(car=car)
    void_entry(by=keeper, entry=cost, reason="logged twice")
    sent = {"category": "repairs", "amount": "90", "paid_on": "2026-03-01"}
    assert "was voided" in text_of(everyone["keeper"].post(address("cost", cost.pk), sent))
    cost.refresh_from_db()
    assert cost.amount == Decimal("86.40")


def insured(keeper: Member, car: Car, until: date) -> CostEntry:
    """Insurance logged from 1 January 2026."""
    cost, _ = log_cost(
        by=keeper,
        car=car,
        ref=new_ref(),
        paid_on=date(2026, 1, 1),
        category="insurance",
        amount=Decimal("900.00"),
        covers_from=date(2026, 1, 1),
        covers_to=until,
    )
    return cost


@pytest.mark.parametrize("until", [date(2026, 6, 30), date(2027, 3, 31)])
def test_cover_corrected_moves_what_is_due(keeper: Member, car: Car, until: date) -> None:
    cost = insured(keeper, car, date(2026, 12, 31))
    correct_entry(by=keeper, entry=cost, changes={"covers_to": until})
    assert DueItem.objects.get(car=car, kind="insurance").due_on == until


def test_cover_corrected_falls_back_on_what_other_entries_cover(keeper: Member, car: Car) -> None:
    insured(keeper, car, date(2026, 9, 30))
    cost = insured(keeper, car, date(2026, 12, 31))
    correct_entry(by=keeper, entry=cost, changes={"covers_to": date(2026, 6, 30)})
    assert DueItem.objects.get(car=car, kind="insurance").due_on == date(2026, 9, 30)


def test_a_policy_cancelled_is_due_on_its_last_day(keeper: Member, car: Car) -> None:
    cost = insured(keeper, car, date(2026, 12, 31))
    correct_entry(by=keeper, entry=cost, changes={"ended_on": date(2026, 3, 10)})
    assert DueItem.objects.get(car=car, kind="insurance").due_on == date(2026, 3, 10)


def test_an_entry_put_in_another_category_takes_its_due_item_along(keeper: Member, car: Car) -> None:
    cost = insured(keeper, car, date(2026, 12, 31))
    correct_entry(by=keeper, entry=cost, changes={"category": "breakdown_cover"})
    due = dict(DueItem.objects.filter(car=car).values_list("kind", "due_on"))
    # The insurance was in the book by this cost alone.
    assert due == {"breakdown_cover": date(2026, 12, 31)}


def test_what_is_due_on_a_car_handed_on_stays_as_its_new_keeper_has_it(
    keeper: Member, colleague: Member, car: Car
) -> None:
    cost = insured(keeper, car, date(2026, 12, 31))
    car.keeper = colleague
    car.save()
    correct_entry(by=keeper, entry=cost, changes={"covers_to": date(2026, 6, 30)})
    assert DueItem.objects.get(car=car, kind="insurance").due_on == date(2026, 12, 31)


def test_teaching_keeps_its_minutes_through_the_form(everyone: dict[str, Client], car: Car) -> None:
    record = TeachingRecordFactory(car=car, minutes=1_567)
    form = everyone["keeper"].get(address("lessons", record.pk)).context["form"]
    assert form["minutes"].value() == "26:07"
    assert TeachingRecord.objects.get().minutes == 1_567


def test_a_cost_is_corrected_among_the_categories_in_this_members_order(everyone: dict[str, Client], car: Car) -> None:
    for _ in range(2):
        cost = CostEntryFactory(car=car, category="parking_tolls", paid_on=date(2026, 3, 2))
    page = everyone["keeper"].get(address("cost", cost.pk)).content.decode()
    assert page.index('value="parking_tolls"') < page.index("Something else")
    assert page.index("Something else") < page.index('value="other"')
