"""The page /statement/year/pdf/: twelve months on paper, each with its figures and entries."""

from datetime import date
from decimal import Decimal
from io import BytesIO

import pytest
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from config import budgets
from costing.actions import make_paper
from costing.core.periods import months_within
from costing.core.records import Period
from costing.core.running_cost import RunningCost
from costing.models import Paper
from costing.statement.papers import MAKERS
from costing.statement.pictures.page import figure_of
from costing.statement.report import statement
from fleet.models import Car
from instructors.models import Member
from tests.costing.statement_paper import words_of
from tests.costing.test_statement_pdf import kept as kept
from tests.factories import (
    CostEntryFactory,
    FillFactory,
    OdometerReadingFactory,
    TeachingRecordFactory,
    ValuationFactory,
)

pytestmark = pytest.mark.usefixtures("today", "files_folder")


@pytest.fixture
def full(car: Car, keeper: Member) -> Car:
    """The keeper's car, with readings, fills and lessons all over the year."""
    own = {"car": car, "member": keeper}
    OdometerReadingFactory(car=car, read_on=car.in_service_from, miles=21_400)
    ValuationFactory(**own, valued_on=car.in_service_from, value="9000.00")
    for number, month in enumerate([Period(date(2025, 2, 1), date(2025, 2, 28)), *months_within(YEAR)]):
        FillFactory(**own, filled_on=month.last, odometer=40_000 + 1_100 * number, quantity="36.5", amount="51.83")
        TeachingRecordFactory(**own, from_on=month.first, to_on=month.last, minutes=4_995, private_miles=40)
    return car


YEAR = Period(date(2025, 3, 1), date(2026, 2, 28))
ADDRESS = "first=2026-02-01&last=2026-02-28"


def address(asked: str = ADDRESS) -> str:
    return f"{reverse('costing:year-pdf')}?{asked}"


def test_it_has_each_month_s_figures_and_entries(everyone: dict[str, Client], kept: Car, keeper: Member) -> None:
    answer = everyone["keeper"].get(address())
    assert 'filename="year-to-2026-02-28.pdf"' in answer["Content-Disposition"]
    text = words_of(answer.content)
    assert "March 2025 to February 2026" in text
    for month in months_within(YEAR):
        found = statement(keeper, month)
        assert found
        sums = f"{figure_of(found.cost.true_cost)} {figure_of(found.cost.money_out)}"
        assert f"{found.title} {sums}" in text
        for line in found.lines:
            for entry in line.entries:
                assert f"{figure_of(entry.pence)} {figure_of(entry.paid)}" in text
            # What no entry tells has a row by its name, as elsewhere.
            if line.held:
                assert f"– {line.label} from how the car is held {figure_of(line.held)} –" in text
    whole = statement(keeper, YEAR)
    assert whole
    assert f"{figure_of(whole.cost.true_cost)} {figure_of(whole.cost.money_out)}" in text
    assert "from how the car is held" in text
    assert "page 1 of" in text
    assert "Not for a tax return." in text


def cells_of(cost: RunningCost) -> str:
    """A row of the months as a reader sees it."""
    miles = "not known" if cost.miles_shown is None else f"{cost.miles_shown:,}"
    taught = (
        ("not entered" if cost.minutes is None else f"{Decimal(cost.minutes) / 60:.2f}".rstrip("0").rstrip("."))
        if cost.tells_lessons
        else "not known"
    )
    sums = [figure_of(cost.true_cost), figure_of(cost.money_out)]
    divided = (cost.cost_per_mile, cost.cost_per_lesson_hour)
    return " ".join([miles, taught, *sums, *("not known" if one is None else figure_of(one) for one in divided)])


def has_its_months(text: str, keeper: Member) -> None:
    for period in [*months_within(YEAR), YEAR]:
        found = statement(keeper, period)
        assert found
        assert f"{'Twelve months' if period == YEAR else found.title} {cells_of(found.cost)}" in text


def test_the_cells_of_a_full_year_are_read_as_figures(everyone: dict[str, Client], full: Car, keeper: Member) -> None:
    year = statement(keeper, YEAR)
    assert year
    assert year.cost.cost_per_lesson_hour
    has_its_months(words_of(everyone["keeper"].get(address()).content), keeper)


def test_the_cells_of_one_entry_are_too(everyone: dict[str, Client], car: Car, keeper: Member) -> None:
    CostEntryFactory(car=car, member=keeper, paid_on="2026-02-10", amount="30.00")
    has_its_months(words_of(everyone["keeper"].get(address()).content), keeper)


def test_an_empty_book_has_one_too(everyone: dict[str, Client], car: Car) -> None:
    pdf = everyone["keeper"].get(address()).content
    assert len(PdfReader(BytesIO(pdf)).pages) <= 2
    assert "not known" in words_of(pdf)


def test_a_long_one_is_made_by_the_worker(
    everyone: dict[str, Client], kept: Car, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(budgets, "PAPER_ROWS_AT_ONCE", 3)
    assert "This is a long one" in everyone["keeper"].get(address()).content.decode()
    everyone["keeper"].post(address(f"{ADDRESS}&car={kept.registration}"))
    paper = Paper.objects.get()
    assert (paper.kind, paper.car, (paper.first, paper.last)) == ("year", kept, YEAR)
    assert make_paper(paper.pk, MAKERS)
    pdf = everyone["keeper"].get(reverse("costing:paper-file", args=[paper.pk])).content
    assert "Month by month" in words_of(pdf)


def test_nobody_else_s_car_is_printed(everyone: dict[str, Client], kept: Car) -> None:
    for who in ("colleague", "coordinator", "stranger"):
        assert everyone[who].get(address(f"{ADDRESS}&car={kept.registration}")).status_code == 302
