"""Files of many rows: how many are taken at once, and how little each takes."""

import time
from datetime import date, timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from config import budgets
from costing.models import Batch, CostEntry, Fill
from fleet.models import Car
from tests.costing.bringing import on, save, send
from tests.costing.pages import text_of

pytestmark = pytest.mark.usefixtures("today")


def costs(count: int) -> str:
    days = (date(2024, 1, 1) + timedelta(days=n // 3) for n in range(count))
    rows = "".join(f"{day},Cleaning,{5 + n % 7}.{n % 100:02}\n" for n, day in enumerate(days))
    return f"Date,Category,Amount\n{rows}"


def test_at_most_so_many_are_taken_and_the_rest_in_a_second_go(
    everyone: dict[str, Client], car: Car, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(budgets, "IMPORT_TAKEN", 5)
    file = "Date,Category,Amount\n" + "".join(f"{date(2025, n, 1)},Cleaning,{4 + n}.00\n" for n in range(1, 9))
    page = send(everyone["keeper"], file)
    assert "5 costs, £35.00 in all" in text_of(page)
    assert "Take at most 5 at once: bring the rest in a second go." in text_of(page)
    answer = save(everyone["keeper"], page)
    assert "3 more rows were ticked: bring the same file again" in text_of(everyone["keeper"].get(answer.url))
    assert CostEntry.objects.count() == 5
    second = send(everyone["keeper"], file)
    assert "3 costs" in text_of(second)
    assert "at once" not in text_of(second)
    save(everyone["keeper"], second)
    assert CostEntry.objects.count() == 8


def test_saving_takes_few_statements_however_many_rows(everyone: dict[str, Client], car: Car) -> None:
    page = on(send(everyone["keeper"], costs(300))) | {"row": [str(n) for n in range(50)], "save": "1"}
    with CaptureQueriesContext(connection) as asked:
        everyone["keeper"].post(reverse("costing:bring-rows"), page)
    assert CostEntry.objects.count() > 200
    assert CostEntry.history.filter(history_change_reason="Logged").count() == CostEntry.objects.count()
    assert len(asked) < 100


def test_fills_of_one_day_are_saved_and_undone_soon(everyone: dict[str, Client], car: Car) -> None:
    rows = "".join(f"2026-03-05,{41000 + n},30.1,{42 + n / 100:.2f}\n" for n in range(budgets.IMPORT_TAKEN))
    page = send(everyone["keeper"], f"Date,Odometer,Litres,Cost\n{rows}", "fill")
    every = on(page) | {"ticked": f"0-{budgets.IMPORT_TAKEN - 1}", "row": [str(n) for n in range(50)], "save": "1"}
    began = time.process_time()
    assert everyone["keeper"].post(reverse("costing:bring-rows"), every).status_code == 303
    saved = time.process_time()
    assert Fill.objects.standing().count() == budgets.IMPORT_TAKEN
    everyone["keeper"].post(reverse("costing:batch-undo", args=[Batch.objects.get().pk]))
    # Ten times the work that it is; to compare each with each would be a hundred times.
    assert saved - began < 10
    assert time.process_time() - saved < 13
    assert not Fill.objects.standing().exists()
