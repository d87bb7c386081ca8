"""The statement as a file: the same figures, line by line and entry by entry."""

import csv
import re
from decimal import Decimal

import pytest
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

from costing.core.catalogue.costs import COST_CATEGORIES
from fleet.models import Car
from tests.costing.pages import shown, teach_february
from tests.factories import CostEntryFactory

FILE = reverse("costing:statement-csv")
FEBRUARY = f"{FILE}?first=2026-02-01&last=2026-02-28"

pytestmark = pytest.mark.usefixtures("today")


def rows_of(answer: HttpResponse) -> list[dict[str, str]]:
    assert answer.status_code == 200
    return list(csv.DictReader(answer.content.decode().splitlines()))


def test_it_has_the_figures_the_lines_and_the_entries(everyone: dict[str, Client], car: Car) -> None:
    teach_february(car)
    CostEntryFactory(car=car, paid_on="2026-02-10", amount="30.00", category="repairs")
    answer = everyone["keeper"].get(FEBRUARY)
    rows = rows_of(answer)
    told = {row["name"]: row["value"] for row in rows if row["row"] == "figure"}
    assert told == {
        "from": "2026-02-01",
        "to": "2026-02-28",
        "cars": "QA51 ABC",
        "miles": "600",
        "private_miles": "0",
        "business_share": "1.0000",
        "lessons": "24",
        "lesson_hours": "36.0",
        "cost_per_mile": "0.15",
        "cost_per_lesson_hour": "2.50",
        "cost_per_lesson": "3.75",
        "mpg": told["mpg"],
        "litres_per_100_km": told["litres_per_100_km"],
        "miles_per_kwh": "",
        "estimated": "",
        "known_until": "2026-02-28",
    }
    assert Decimal(told["mpg"]) > 0
    others = [tuple(row.values())[:8] for row in rows if row["row"] in {"line", "entry", "total"}]
    assert others == [
        ("line", "fuel", "Fuel and charging", "", "", COST_CATEGORIES["fuel"].source, "60.00", "60.00"),
        ("entry", "fuel", "Fill", "QA51 ABC", "2026-02-28", "", "60.00", "60.00"),
        ("line", "repairs", "Repairs", "", "", COST_CATEGORIES["repairs"].source, "30.00", "30.00"),
        ("entry", "repairs", "Repairs", "QA51 ABC", "2026-02-10", "", "30.00", "30.00"),
        ("total", "", "", "", "", "", "90.00", "90.00"),
    ]


def test_it_is_a_file_that_no_browser_keeps(everyone: dict[str, Client], car: Car) -> None:
    answer = everyone["keeper"].get(FEBRUARY)
    assert answer["Content-Type"] == "text/csv; charset=utf-8"
    assert answer["Content-Disposition"] == 'attachment; filename="statement-2026-02-01-to-2026-02-28.csv"'
    assert "no-store" in answer["Cache-Control"]


def test_an_absent_figure_is_an_empty_cell_with_its_reason(everyone: dict[str, Client], car: Car) -> None:
    CostEntryFactory(car=car, paid_on="2026-02-10", amount="30.00")
    rows = rows_of(everyone["keeper"].get(FEBRUARY))
    assert {row["name"]: row["value"] for row in rows}["cost_per_lesson_hour"] == ""
    assert "no odometer reading" in [row["words"] for row in rows if row["row"] == "missing"]


def test_no_cell_of_words_is_a_formula_to_a_spreadsheet(everyone: dict[str, Client], car: Car) -> None:
    """The rule of a refund begins with a minus sign."""
    cover = {"covers_from": "2026-02-20", "covers_to": "2026-03-20", "category": "insurance"}
    CostEntryFactory(car=car, paid_on="2026-02-10", amount="-29.00", **cover)
    [entry] = [row for row in rows_of(everyone["keeper"].get(FEBRUARY)) if row["row"] == "entry"]
    assert entry["rule"] == "'−£29.00 over 29 days, 9 of them here"
    assert (entry["true_cost"], entry["money_out"]) == ("-9.00", "-29.00")


@pytest.mark.parametrize("asked", ["first=2026-02-10&last=2026-02-09", "car=QB02XYZ", "first=x"])
def test_what_cannot_be_is_answered_by_the_page_that_says_why(
    everyone: dict[str, Client], car: Car, colleague_car: Car, asked: str
) -> None:
    page = everyone["keeper"].get(f"{FILE}?{asked}").content.decode()
    assert "Not shown yet" in page
    assert re.search(rf'action="{reverse("costing:statement")}"', page)


def test_whoever_never_had_a_car_is_told_to_add_it(everyone: dict[str, Client]) -> None:
    assert "You have no car in the book" in shown(everyone["stranger"], FILE)


@pytest.mark.parametrize("who", ["colleague", "coordinator"])
def test_nobody_gets_the_file_of_another(everyone: dict[str, Client], car: Car, colleague_car: Car, who: str) -> None:
    CostEntryFactory(car=car, paid_on="2026-02-10", amount="913.57")
    for asked in (FEBRUARY, f"{FEBRUARY}&car=QA51ABC"):
        assert "913.57" not in everyone[who].get(asked).content.decode()


def test_the_page_leads_to_the_file_of_the_same_days(everyone: dict[str, Client], car: Car) -> None:
    CostEntryFactory(car=car, paid_on="2026-02-10", amount="30.00")
    page = everyone["keeper"].get(f"{reverse('costing:statement')}?first=2026-02-01&last=2026-02-28&car=QA51ABC")
    assert f'href="{FILE}?first=2026-02-01&amp;last=2026-02-28&amp;car=QA51ABC"' in page.content.decode()
    assert "CSV" in shown(everyone["keeper"], reverse("costing:statement"))
