"""The page /pot/pdf/: the weekly pot on paper, with the figures of its page."""

from datetime import date
from io import BytesIO

import pytest
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from config import budgets
from costing.planning.pictures.pot import pot_page
from costing.planning.report import pot_report
from fleet.models import Car
from tests.costing.pages import shown
from tests.costing.statement_paper import words_of
from tests.costing.test_pot import insure
from tests.factories import PotPlanFactory, RepeatFactory

pytestmark = pytest.mark.usefixtures("today")

ADDRESS = reverse("costing:pot-pdf")


@pytest.mark.parametrize("has_plan", [True, False])
def test_it_has_the_answer_each_month_and_each_bill(everyone: dict[str, Client], car: Car, has_plan: bool) -> None:
    insure(car)
    if has_plan:
        PotPlanFactory.create(member=car.keeper)
    answer = everyone["keeper"].get(ADDRESS)
    assert 'filename="pot-2026-03-16.pdf"' in answer["Content-Disposition"]
    assert answer["Cache-Control"] == "private, no-store"
    text, page = words_of(answer.content), pot_page(pot_report(car.keeper, date(2026, 3, 16)))
    for words in (page.answer, page.total, "An aid, not advice. Made 16 March 2026.", "page 1 of"):
        assert words in text
    for month in page.months:
        assert f"{month.title} {month.number} {month.total}" in text
        assert not has_plan or f"{month.put_by} {month.lowest}" in text
        for bill in month.bills:
            assert f"{bill.when} {bill.title} {bill.how} {bill.sum}" in text
    assert ("least in the pot" in text) is has_plan
    pdf = PdfReader(BytesIO(answer.content))
    assert pdf.trailer["/Root"]["/MarkInfo"]["/Marked"]
    assert len(pdf.pages) <= 2


def test_without_a_bill_it_says_so(everyone: dict[str, Client]) -> None:
    assert "No bill is known yet." in words_of(everyone["stranger"].get(ADDRESS).content)


def test_one_with_too_many_bills_says_so_and_lays_out_nothing(
    everyone: dict[str, Client], car: Car, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(budgets, "POT_PAPER_BILLS", 11)
    RepeatFactory.create(car=car)
    assert everyone["keeper"].get(ADDRESS).status_code == 303
    page = everyone["keeper"].get(ADDRESS, follow=True).content.decode()
    assert "No PDF was made: the year has 12 bills, and one holds 11. Read them on this page instead." in page


def test_it_says_the_weeks_off_and_the_illness_as_the_page_does(everyone: dict[str, Client], car: Car) -> None:
    insure(car)
    PotPlanFactory.create(member=car.keeper, ill_weeks=4, holidays=[["2026-08-01", "2026-08-14"]])
    page, paper = shown(everyone["keeper"], reverse("costing:pot")), words_of(everyone["keeper"].get(ADDRESS).content)
    for words in (
        "In 2 weeks of the 12 months you are on holiday and put nothing by",
        "If you are ill for four weeks",
    ):
        assert words in page
        assert words in paper
