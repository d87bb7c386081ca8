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
from tests.costing.offered import RUNNING, pcp_and_rental, six_offers
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


def test_the_answer_comes_first_and_the_cautions_last(everyone: dict[str, Client], keeper: Member) -> None:
    first, second = sides(everyone["keeper"], pcp_and_rental(keeper))
    assert "made 16 March 2026" in first
    assert "A is cheapest, £3,287 less than B." in first
    assert "24,593" in first
    assert "Which one has cost the least changes 3 times" in first
    assert "written terms of each agreement come first" in second
    assert "Consumer Credit Act 1974" in second
    assert "not advice" in second


def test_what_is_not_told_is_on_paper_with_the_room_it_has(everyone: dict[str, Client], keeper: Member) -> None:
    running = {key: value for key, value in RUNNING.items() if key != "repairs_per_year"}
    first, _ = sides(everyone["keeper"], pcp_and_rental(keeper, running=running))
    assert "A is cheapest as long as its repairs stay below" in first
    assert "and repairs" in first


def test_six_offers_with_the_longest_names_fill_two_sides(everyone: dict[str, Client], keeper: Member) -> None:
    first, second = sides(everyone["keeper"], six_offers(keeper, name="Wide words ".ljust(80, "W")))
    assert "page 1 of 2" in first
    assert "Before you sign" in second
    assert "page 2 of 2" in second


def test_one_offer_fills_two_sides_too(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = ComparisonFactory.create(member=keeper)
    OfferFactory(comparison=comparison, name="The only one")
    first, second = sides(everyone["keeper"], comparison)
    assert "One offer so far." in first
    assert "Consumer Credit Act" not in first + second


def test_what_cannot_be_compared_yet_leads_back(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = ComparisonFactory.create(member=keeper)
    answer = everyone["keeper"].get(address(comparison))
    assert answer.headers["Location"] == reverse("costing:comparison", args=[comparison.pk])
