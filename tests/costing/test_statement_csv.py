"""The statement as a file: the same figures, line by line and entry by entry."""

import csv
from datetime import timedelta
from decimal import Decimal

import pytest
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

from costing.core.catalogue.costs import COST_CATEGORIES
from costing.models import TeachingRecord
from fleet.core.registration import show
from fleet.models import Car
from instructors.models import Member
from tests.costing.pages import shown, teach_february
from tests.costing.statement_paper import words_of
from tests.factories import CarFactory, CostEntryFactory, TeachingRecordFactory

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
def test_what_cannot_be_leads_to_the_page_that_says_why(
    everyone: dict[str, Client], car: Car, colleague_car: Car, asked: str
) -> None:
    answer = everyone["keeper"].get(f"{FILE}?{asked}", follow=True)
    assert answer.redirect_chain == [(f"{reverse('costing:statement')}?{asked}", 303)]
    assert "Not shown yet" in answer.content.decode()


def all_of(rows: list[dict[str, str]]) -> list[tuple[str, str, str, str]]:
    return [(row["row"], row["name"], row["words"], row["value"]) for row in rows]


def test_whoever_never_had_a_car_has_a_file_without_figures(everyone: dict[str, Client]) -> None:
    assert all_of(rows_of(everyone["stranger"].get(FEBRUARY))) == [
        ("figure", "from", "", "2026-02-01"),
        ("figure", "to", "", "2026-02-28"),
        ("figure", "cars", "", ""),
        ("missing", "", "You never kept a car.", ""),
    ]


@pytest.mark.parametrize(
    ("of_car", "why"),
    [("", "You had no car in service then."), ("&car=QA51ABC", "You did not have this car in service then.")],
)
def test_days_without_a_car_have_no_figures(everyone: dict[str, Client], car: Car, of_car: str, why: str) -> None:
    first = car.in_service_from - timedelta(days=9)
    rows = all_of(rows_of(everyone["keeper"].get(f"{FILE}?first={first}&last={first}{of_car}")))
    assert rows[:3] == [
        ("figure", "from", "", str(first)),
        ("figure", "to", "", str(first)),
        ("figure", "cars", "", ""),
    ]
    [(row, _, words, _)] = rows[3:]
    assert row == "missing"
    assert words.startswith(why)


def test_lessons_in_a_car_that_one_never_kept_are_named(
    everyone: dict[str, Client], car: Car, colleague_car: Car, keeper: Member
) -> None:
    """On page, file and paper; the hours of the statement of one car are of that car alone."""
    teach_february(car)
    told = {"member": keeper, "from_on": "2026-01-31", "to_on": "2026-02-01", "lesson_count": 20}
    TeachingRecordFactory(car=colleague_car, minutes=1_500, **told)
    mark = show(colleague_car.registration)
    sentence = f"12.5 hours were taught in a car that you did not keep ({mark}): they count in no figure here."
    asked = "first=2026-02-01&last=2026-02-28"
    assert [row["words"] for row in rows_of(everyone["keeper"].get(FEBRUARY)) if row["row"] == "note"] == [sentence]
    page = reverse("costing:statement")
    assert sentence in shown(everyone["keeper"], f"{page}?{asked}")
    assert sentence not in shown(everyone["keeper"], f"{page}?{asked}&car=QA51ABC")
    assert "did not keep" not in shown(everyone["keeper"], f"{page}?first=2026-02-02&last=2026-02-28")
    assert sentence in words_of(everyone["keeper"].get(f"{reverse('costing:statement-pdf')}?{asked}").content)


def test_lessons_in_several_such_cars_are_one_sentence(
    everyone: dict[str, Client], car: Car, colleague_car: Car, colleague: Member, keeper: Member
) -> None:
    other = CarFactory(keeper=colleague, registration="QB99ZZZ")
    teach_february(car)
    told = {"member": keeper, "from_on": "2026-02-02", "to_on": "2026-02-02"}
    TeachingRecordFactory(car=colleague_car, minutes=30, **told)
    record = TeachingRecordFactory(car=other, minutes=30, **told)
    asked = f"{reverse('costing:statement')}?first=2026-02-01&last=2026-02-28"
    marks = ", ".join(sorted([show(colleague_car.registration), "QB99 ZZZ"]))
    said = f"1 hour was taught in cars that you did not keep ({marks}): they count in no figure here."
    assert said.replace("they count", "it counts") in shown(everyone["keeper"], asked)
    TeachingRecord.objects.filter(pk=record.pk).update(minutes=None)
    assert "Lessons whose hours were not entered were taught in cars" in shown(everyone["keeper"], asked)


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
