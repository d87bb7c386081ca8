"""Undo in the answer to a save: one entry, or a batch with all it replaced."""

from datetime import date
from decimal import Decimal
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from django.test import Client
from django.urls import reverse

from costing.actions import log_cost, undo_batch
from costing.models import Batch, CostEntry, Entry, Fill, TeachingRecord
from fleet.models import Car, DueItem
from fleet.queries import readings_of
from instructors.models import Member
from tests.costing.pages import cost_data, fill_data, new_ref, shown, text_of
from tests.factories import CostEntryFactory, FillFactory, TeachingRecordFactory

JSON = {"Accept": "application/json"}
HOME = reverse("costing:home")

pytestmark = pytest.mark.usefixtures("today")


def undo_of(entry: Entry, kind: str) -> str:
    return reverse("costing:entry-undo", args=[kind, entry.pk])


def undo_of_all(batch: Batch) -> str:
    return reverse("costing:batch-undo", args=[batch.pk])


def test_the_answer_to_a_save_has_its_undo(everyone: dict[str, Client], car: Car) -> None:
    page = everyone["keeper"].post(reverse("costing:fill-log"), fill_data(car), follow=True).content.decode()
    fill = Fill.objects.get()
    assert f'<form method="post" action="{undo_of(fill, "fill")}">' in page
    again = everyone["keeper"].post(undo_of(fill, "fill"), follow=True)
    assert again.redirect_chain == [(HOME, 303)]
    assert "Undone: Fill, £47.92" in text_of(again)
    assert "Undo</button>" not in again.content.decode()
    assert not Fill.objects.standing().exists()
    assert not readings_of([car.pk])[car.pk]
    page = shown(everyone["keeper"], reverse("costing:entry-correct", args=["fill", fill.pk]))
    assert "Undone Wren Applegarth" in page


def test_a_script_is_told_as_json(everyone: dict[str, Client], car: Car) -> None:
    saved = everyone["keeper"].post(reverse("costing:cost-log"), cost_data(car), headers=JSON).json()
    answer = everyone["keeper"].post(saved["undo"], headers=JSON)
    assert answer.status_code == 200
    assert answer.json()["told"].startswith("Undone: Repairs, £86.40")
    assert not CostEntry.objects.standing().exists()


def test_undoing_twice_changes_nothing_the_second_time(everyone: dict[str, Client], car: Car) -> None:
    cost = CostEntryFactory(car=car)
    for _ in range(2):
        assert everyone["keeper"].post(undo_of(cost, "cost")).status_code == 303
    assert cost.history.count() == 2


@pytest.mark.parametrize("who", ["colleague", "coordinator", "stranger"])
def test_what_is_anothers_is_not_there(everyone: dict[str, Client], car: Car, who: str) -> None:
    cost, batch = CostEntryFactory(car=car), Batch.objects.create(member=car.keeper, kind="week")
    for headers in ({}, JSON):
        assert everyone[who].post(undo_of(cost, "cost"), headers=headers).status_code == 404
        assert everyone[who].post(undo_of_all(batch), headers=headers).status_code == 404
    assert CostEntry.objects.standing().exists()


def test_undoing_cover_leaves_what_was_due(everyone: dict[str, Client], keeper: Member, car: Car) -> None:
    policy = {"category": "insurance", "amount": Decimal("900.00"), "covers_from": date(2026, 1, 1)}
    for until in (date(2026, 3, 31), date(2026, 12, 31)):
        cost, _ = log_cost(by=keeper, car=car, ref=new_ref(), paid_on=date(2026, 1, 1), covers_to=until, **policy)
    everyone["keeper"].post(undo_of(cost, "cost"))
    assert DueItem.objects.get(car=car, kind="insurance").due_on == date(2026, 3, 31)


def test_a_batch_goes_whole_and_what_it_replaced_comes_back(everyone: dict[str, Client], car: Car) -> None:
    batch = Batch.objects.create(member=car.keeper, kind="week")
    old = TeachingRecordFactory(car=car, replaced_by=batch, voided_at="2026-03-15T09:00Z", lesson_count=9)
    own = TeachingRecordFactory(car=car, batch=batch, lesson_count=7)
    apart = TeachingRecordFactory(car=car, lesson_count=3)
    for _ in range(2):
        answer = everyone["keeper"].post(undo_of_all(batch), follow=True)
        assert "Undone: a week of lessons. The book is as it was before." in text_of(answer)
    assert set(TeachingRecord.objects.standing()) == {old, apart}
    assert own.history.count() == 2
    old.refresh_from_db()
    assert (old.voided_at, old.replaced_by) == (None, None)
    assert old.history.first().history_change_reason == "Put back"


def test_what_was_replaced_comes_back_only_if_it_still_fits(keeper: Member, car: Car) -> None:
    batch = Batch.objects.create(member=keeper, kind="import")
    FillFactory(car=car, filled_on="2026-03-01", odometer=50_000, replaced_by=batch, voided_at="2026-03-15T09:00Z")
    own = CostEntryFactory(car=car, batch=batch)
    FillFactory(car=car, filled_on="2026-03-10", odometer=49_000)
    with pytest.raises(ValidationError, match="49,000"):
        undo_batch(by=keeper, batch=batch)
    own.refresh_from_db()
    batch.refresh_from_db()
    assert (own.voided_at, batch.undone_at) == (None, None)


def test_nobody_undoes_the_batch_of_another(colleague: Member, keeper: Member) -> None:
    batch = Batch.objects.create(member=keeper, kind="week")
    with pytest.raises(PermissionError):
        undo_batch(by=colleague, batch=batch)


def test_an_address_of_nothing_is_not_there(everyone: dict[str, Client]) -> None:
    for address in (
        reverse("costing:batch-undo", args=[uuid4()]),
        reverse("costing:entry-undo", args=["fill", 999]),
        reverse("costing:entry-undo", args=["nonsense", 1]),
    ):
        assert everyone["keeper"].post(address).status_code == 404
