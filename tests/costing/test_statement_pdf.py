"""The page /statement/pdf/: a statement on paper at once, or a long one asked of the worker."""

from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from io import BytesIO

import pytest
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from config import budgets
from config.pdf import render_pdf
from costing.actions import make_paper
from costing.core.money import to_places
from costing.core.records import Period
from costing.models import Paper
from costing.statement.papers import MAKERS
from costing.statement.pictures.paper import EntryRow, HeldRow
from costing.statement.report import statement
from fleet.models import Car
from instructors.models import Member
from tests.costing.pages import shown
from tests.costing.statement_paper import holds, words_of
from tests.factories import (
    CarFactory,
    ChargePlanFactory,
    CostEntryFactory,
    FillFactory,
    OdometerReadingFactory,
    TeachingRecordFactory,
    ValuationFactory,
)

pytestmark = pytest.mark.usefixtures("today", "files_folder")

FEBRUARY = Period(date(2026, 2, 1), date(2026, 2, 28))


@pytest.fixture
def kept(car: Car, keeper: Member) -> Car:
    """The keeper's car, with all that February rests on."""
    own = {"car": car, "member": keeper}
    OdometerReadingFactory(car=car, read_on="2026-01-01", miles=40_000)
    for number, day in enumerate(("2026-01-31", "2026-02-12", "2026-02-28", "2026-03-10")):
        FillFactory(**own, filled_on=day, odometer=40_400 + 400 * number, quantity="36.5", amount="51.83")
    CostEntryFactory(
        **own,
        category="insurance",
        amount="911.37",
        paid_on="2026-01-02",
        covers_from="2026-01-02",
        covers_to="2027-01-01",
    )
    CostEntryFactory(**own, category="repairs", amount="86.40", paid_on="2026-02-03")
    ValuationFactory(**own, valued_on="2025-12-01", value="9000.00")
    TeachingRecordFactory(**own, from_on="2026-01-01", to_on="2026-03-15", minutes=9_000, private_miles=140)
    return car


def address(first: str = "2026-02-01", last: str = "2026-02-28", more: str = "") -> str:
    return f"{reverse('costing:statement-pdf')}?first={first}&last={last}{more}"


def test_a_month_takes_two_pages_at_most_with_every_figure_of_the_statement(
    everyone: dict[str, Client], kept: Car, keeper: Member
) -> None:
    answer = everyone["keeper"].get(address())
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Cache-Control"] == "private, no-store"
    assert 'filename="statement-2026-02-01-to-2026-02-28.pdf"' in answer["Content-Disposition"]
    found = statement(keeper, FEBRUARY)
    assert found
    holds(words_of(answer.content), found)
    assert len(PdfReader(BytesIO(answer.content)).pages) <= 2


def test_of_a_tax_year_the_months_are_named_and_the_business_share_is_that_of_the_page(
    everyone: dict[str, Client], kept: Car, keeper: Member
) -> None:
    year = Period(date(2025, 4, 6), date(2026, 3, 15))
    text = words_of(everyone["keeper"].get(address(*(day.isoformat() for day in year))).content)
    found = statement(keeper, year)
    assert found
    assert found.cost.business_share
    share = f"{to_places(found.cost.business_share * 100, 1)}%"
    assert f"business share {share}" in text
    assert f"Business share {share}" in shown(
        everyone["keeper"], f"{reverse('costing:statement')}?first={year.first}&last={year.last}"
    )
    assert "April 2025 to March 2026, a lesson hour" in text


def test_the_dial_stands_beside_the_lesson_hour_of_whoever_said_what_they_charge(
    everyone: dict[str, Client], kept: Car, keeper: Member
) -> None:
    assert "of each at" not in words_of(everyone["keeper"].get(address()).content)
    ChargePlanFactory(member=keeper)
    found = statement(keeper, FEBRUARY)
    assert found
    minutes = Decimal(60 * (found.cost.cost_per_lesson_hour or 0)) / 3800
    words = f"{minutes.quantize(Decimal(1), ROUND_HALF_UP)} minutes’ takings at £38"
    said = " ".join(words_of(everyone["keeper"].get(address()).content).split())
    assert words in said


def test_it_is_tagged_and_its_cautions_stand_on_every_page(everyone: dict[str, Client], kept: Car) -> None:
    pdf = PdfReader(BytesIO(everyone["keeper"].get(address()).content))
    assert pdf.trailer["/Root"]["/MarkInfo"]["/Marked"]
    assert pdf.trailer["/Root"]["/Lang"] == "en-GB"
    for number, page in enumerate(pdf.pages, 1):
        text = " ".join(page.extract_text().split())
        for words in (
            "True cost spreads each sum",
            "Loss of value is an estimate.",
            "Not for a tax return.",
            "Made 16 March",
        ):
            assert words in text
        assert f"page {number} of {len(pdf.pages)}" in text


def test_that_of_a_tax_year_says_what_a_return_asks_for(everyone: dict[str, Client], kept: Car) -> None:
    said = " ".join(words_of(everyone["keeper"].get(address("2024-04-06", "2025-04-05")).content).split())
    assert "For the tax return: see the money out, by category" in said
    assert (
        "For a tax return see the money out and the business share of it; the true cost is no figure for one." in said
    )
    assert "Not for a tax return" not in said
    assert "Check with an accountant." in said
    assert "For the tax return" not in words_of(everyone["keeper"].get(address()).content)


def test_it_says_how_each_sum_was_shared_and_what_each_fill_was(everyone: dict[str, Client], kept: Car) -> None:
    text = words_of(everyone["keeper"].get(address()).content)
    assert "£911.37 over 365 days, 28 of them here" in text
    assert "Fill, 36.50 litres at 40,800 miles" in text
    assert "March 2025 to February 2026, a lesson hour" in text
    assert "Why it moved" in text


def test_an_empty_book_and_one_entry_have_a_page_each(everyone: dict[str, Client], keeper: Member, car: Car) -> None:
    empty = everyone["keeper"].get(address()).content
    assert len(PdfReader(BytesIO(empty)).pages) == 1
    assert "Not known" in words_of(empty)
    assert "Each pound" not in words_of(empty)
    CostEntryFactory(car=car, member=keeper, category="repairs", amount="86.40", paid_on="2026-02-03")
    one = everyone["keeper"].get(address()).content
    assert len(PdfReader(BytesIO(one)).pages) == 1
    found = statement(keeper, FEBRUARY)
    assert found
    holds(words_of(one), found)


def test_an_electric_car_has_its_charge_in_kwh(everyone: dict[str, Client], keeper: Member) -> None:
    car = CarFactory.create(keeper=keeper, fuel="electric", registration="QB71EVX")
    for number, day in enumerate(("2026-01-31", "2026-02-28")):
        FillFactory(
            car=car,
            member=keeper,
            filled_on=day,
            odometer=9_000 + 700 * number,
            quantity="41.2",
            unit="kwh",
            amount="12.36",
        )
    text = words_of(everyone["keeper"].get(address(more="&car=QB71EVX")).content)
    assert "Charge, 41.20 kWh at 9,700 miles" in text


def test_what_is_asked_amiss_leads_to_the_page_that_says_so(everyone: dict[str, Client], kept: Car) -> None:
    for asked in (address(first="soon"), address(first="2026-03-01"), reverse("costing:statement-pdf")):
        answer = everyone["keeper"].get(asked)
        assert answer.status_code == 302
        assert answer.url.startswith(f"{reverse('costing:statement')}?")


def test_nobody_else_s_car_is_printed(everyone: dict[str, Client], kept: Car) -> None:
    for who in ("colleague", "coordinator", "stranger"):
        answer = everyone[who].get(address(more=f"&car={kept.registration}"))
        assert answer.status_code == 302


def test_a_long_one_is_asked_for_by_a_key_and_made_by_the_worker(
    everyone: dict[str, Client], kept: Car, keeper: Member, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(budgets, "PAPER_ROWS_AT_ONCE", 3)
    page = everyone["keeper"].get(address()).content.decode()
    assert "This is a long one: about 1 page." in page
    assert not Paper.objects.exists()
    answer = everyone["keeper"].post(address())
    paper = Paper.objects.get()
    assert (answer.status_code, answer.url) == (303, reverse("costing:paper", args=[paper.pk]))
    assert (paper.member, paper.kind, paper.car, (paper.first, paper.last)) == (keeper, "statement", None, FEBRUARY)
    assert everyone["keeper"].post(address()).url == answer.url
    assert make_paper(paper.pk, MAKERS)
    found = statement(keeper, FEBRUARY)
    assert found
    holds(words_of(everyone["keeper"].get(reverse("costing:paper-file", args=[paper.pk])).content), found)
    paper.refresh_from_db()
    assert 1 <= paper.page <= paper.pages


def test_too_many_are_refused_with_a_sentence(
    everyone: dict[str, Client], kept: Car, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(budgets, "PAPERS_WAITING", 1)
    everyone["keeper"].post(address())
    answer = everyone["keeper"].post(address(first="2026-01-01"), follow=True)
    assert "being made for you already" in answer.content.decode()
    assert Paper.objects.count() == 1


def test_one_beyond_the_bound_says_so(
    everyone: dict[str, Client], kept: Car, keeper: Member, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(budgets, "PAPER_ROWS", 3)
    everyone["keeper"].post(address())
    paper = Paper.objects.get()
    assert not make_paper(paper.pk, MAKERS)
    assert (
        "Ask for fewer months at once"
        in everyone["keeper"].get(reverse("costing:paper", args=[paper.pk])).content.decode()
    )


def test_what_rests_on_no_entry_never_begins_a_page() -> None:
    entry = EntryRow("1 May 2026", "Rental payment", "", "1.00", "1.00")
    held_on = set()
    for many in range(31, 39):
        categories = [
            {"line": {"label": label}, "entries": [entry] * count, "held": held}
            for label, count, held in (("Fuel", many, []), ("Rental", 3, [HeldRow("Rental", "7.00")]), ("Tyres", 1, []))
        ]
        pdf = render_pdf("costing/pdf/statement.html", {"categories": categories, "total": ["", ""]})
        for number, page in enumerate(PdfReader(BytesIO(pdf)).pages):
            lines = page.extract_text().splitlines()
            [at] = [index for index, words in enumerate(lines) if "from how the car is held" in words] or [None]
            if at is not None:
                held_on.add(number)
                assert lines[at - 1].startswith("1 May 2026"), lines
    assert held_on == {0, 1}


@pytest.mark.parametrize("last", [(1, []), (2, []), (1, [HeldRow("Rental", "7.00")]), (0, [])])
def test_the_total_never_begins_a_page_nor_follows_one_row_alone(last: tuple[int, list[HeldRow]]) -> None:
    entry, turned = EntryRow("1 May 2026", "Rental payment", "", "1.00", "1.00"), 0
    for many in range(39 - last[0], 45 - last[0]):
        categories = [
            {"line": {"label": label}, "entries": [entry] * count, "held": held}
            for label, count, held in (("Fuel", many, []), ("Rental", *last))
        ]
        context = {"categories": categories, "total": ["", ""], "pound": {"total": "All of May"}}
        pages = PdfReader(BytesIO(render_pdf("costing/pdf/statement.html", context))).pages
        lines = [line for line in pages[-1].extract_text().splitlines() if line.strip()]
        [at] = [index for index, words in enumerate(lines) if words.startswith("All of May")]
        # Above the first row stand the heads of the columns, on every page.
        heads = next(index for index, words in enumerate(lines) if "how it is shared" in words or "money out" in words)
        turned += len(pages) > 1
        assert at - heads > 2, lines
    assert turned, "none of them is longer than a page"
