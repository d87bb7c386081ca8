"""The decision sheet: two sides of paper, whatever the offers."""

import re
from io import BytesIO
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from costing.models import Comparison
from instructors.models import Member
from tests.costing.offered import OWNED, add_offers, pcp_and_rental, six_offers
from tests.factories import ComparisonFactory, OfferFactory

pytestmark = pytest.mark.usefixtures("today")


def address(comparison: Comparison) -> str:
    return reverse("costing:comparison-sheet", args=[comparison.pk])


def sides(client: Client, comparison: Comparison) -> list[str]:
    """The text of each side, with single spaces."""
    answer: Any = client.get(address(comparison))
    assert answer.headers["Content-Type"] == "application/pdf"
    pages = PdfReader(BytesIO(answer.content)).pages
    return [re.sub(r"\s+", " ", page.extract_text()) for page in pages]


def test_nobody_else_prints_it(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = pcp_and_rental(keeper)
    answers = {name: client.get(address(comparison)).status_code for name, client in everyone.items()}
    assert answers == {"keeper": 200, "colleague": 404, "coordinator": 404, "stranger": 404, "anonymous": 302}


def test_the_first_side_has_the_answer_and_the_offers(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = pcp_and_rental(keeper, sources={"repairs_per_year": "your own records, March 2025 to February 2026"})
    first, second = sides(everyone["keeper"], comparison)
    assert "Tuition Car Book made 16 March 2026" in first
    assert "As planned, Three-year-old hatchback is the cheapest: £17,257.89 in total, £165.94 a week." in first
    assert "price £11,800.00, £1,200.00 deposit, 36 payments of £189.00 a month, £5,400.00 final payment" in first
    assert "Quoted 11.9 %: lower than quoted" in first
    assert "£20,246.00" in first
    assert "By the end A has cost the least, £17.3k" in first
    assert "month 14: A goes under B" in first
    assert "repairs £400.00 a year (your own records, March 2025 to February 2026)" in second
    assert "The largest part of all is" in second


def test_the_second_side_has_what_would_change_it_what_it_rests_on_and_the_cautions(
    everyone: dict[str, Client], keeper: Member
) -> None:
    _, second = sides(everyone["keeper"], pcp_and_rental(keeper))
    assert "You leave after nine months £10,155.38 ★£8,843.00" in second
    assert "B wins if the payment for B is below £100.27. The plan has £129.00." in second
    assert "drawn at random 10,000 times within assumed ranges: A 100 %, B 0 %." in second
    assert "written terms of the agreement come first" in second
    assert "Consumer Credit Act 1974" in second
    assert "£25,000" in second
    assert "written settlement figure" in second
    assert "any arrears" in second
    assert "leaving early costs what the contract says" in second
    assert "not advice" in second


def test_six_offers_with_the_longest_names_and_sources_fill_two_sides(
    everyone: dict[str, Client], keeper: Member
) -> None:
    comparison = six_offers(keeper, name="Wide words ".ljust(80, "W"))
    comparison.sources = dict.fromkeys(comparison.running, "your own records, September 2025 to February 2026")
    comparison.use = {**comparison.use, "discount_rate": "0.05", "marginal_tax_rate": "0.26"}
    comparison.save()
    first, second = sides(everyone["keeper"], comparison)
    assert "Before you sign" in second
    assert "page 2 of 2" in second
    assert "page 1 of 2" in first
    # There is no room for the drawing.
    assert "has cost the least" not in first + second
    assert "The largest part" not in first + second


def test_six_offers_of_which_little_is_told_fill_two_sides(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = six_offers(keeper)
    comparison.running = {}
    comparison.save()
    _, second = sides(everyone["keeper"], comparison)
    assert "Not filled in, so counted as nothing: fuel; insurance; vehicle tax" in second


def test_one_offer_fills_two_sides_too(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = ComparisonFactory.create(member=keeper)
    OfferFactory(comparison=comparison, name="The only one")
    first, second = sides(everyone["keeper"], comparison)
    assert "There is nothing to compare it with yet." in first
    assert "has cost the least" not in first + second
    assert "Consumer Credit Act" not in second


def test_more_offers_than_there_is_room_for_leave_out_the_dearest(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = ComparisonFactory.create(member=keeper)
    prices = range(9000, 16_000, 1000)
    add_offers(comparison, *(("owned", f"At {price}", OWNED | {"price": f"{price}.00"}) for price in prices))
    first, _ = sides(everyone["keeper"], comparison)
    assert "There is no room for 1 dearer offer." in first
    assert "At 14000" in first
    assert "At 15000" not in first


def test_ones_own_ranges_follow_the_offer_they_are_of(everyone: dict[str, Client], keeper: Member) -> None:
    rows = [
        {"input": "payment", "offer": "Weekly rental, all in", "low": "90.00", "likely": "90.00", "high": "90.00"},
        {"input": "months", "low": "24", "likely": "24", "high": "24"},
    ]
    _, second = sides(everyone["keeper"], pcp_and_rental(keeper, uncertain=rows))
    assert "drawn at random 10,000 times: A 0 %, B 100 %." in second


def test_what_cannot_be_compared_yet_leads_back(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = ComparisonFactory.create(member=keeper)
    answer = everyone["keeper"].get(address(comparison))
    assert answer.headers["Location"] == reverse("costing:comparison", args=[comparison.pk])
