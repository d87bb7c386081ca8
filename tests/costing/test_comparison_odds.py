"""How often each offer is cheapest when the uncertain figures are drawn at random."""

import re

import pytest
from django.test import Client
from django.urls import reverse

from costing.choosing.core.odds import Odds
from costing.choosing.pictures.odds_table import share_words
from costing.models import Comparison
from instructors.models import Member
from tests.costing.offered import pcp_and_rental
from tests.costing.pages import HTMX, shown
from tests.factories import ComparisonFactory

pytestmark = pytest.mark.usefixtures("today")


def address(comparison: Comparison) -> str:
    return reverse("costing:comparison-odds", args=[comparison.pk])


def test_nobody_else_sees_them(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = pcp_and_rental(keeper)
    answers = {name: client.get(address(comparison)).status_code for name, client in everyone.items()}
    assert answers == {"keeper": 200, "colleague": 404, "coordinator": 404, "stranger": 404, "anonymous": 302}


def test_ranges_that_nobody_gave_are_said_to_be_assumptions(everyone: dict[str, Client], keeper: Member) -> None:
    page = shown(everyone["keeper"], address(pcp_and_rental(keeper)))
    assert "The ranges are our own assumptions, not forecasts." in page
    assert "What Three-year-old hatchback fetches at the end: from £5,520.00 to £7,590.00" in page
    assert "Repairs a year: from £200.00 to £1,000.00, most likely £400.00." in page
    assert "Miles a year: from 19,200 miles to 28,800 miles, most likely 24,000 miles." in page


def test_ones_own_ranges_are_used_instead(everyone: dict[str, Client], keeper: Member) -> None:
    row = {"input": "payment", "offer": "Weekly rental, all in", "low": "90.00", "likely": "90.00", "high": "90.00"}
    page = shown(everyone["keeper"], address(pcp_and_rental(keeper, uncertain=[row])))
    assert "The ranges are yours." in page
    assert "Miles a year" not in page
    # At £90 a week the rental is cheaper whatever else happens: 20,246.00 - 104 x 39.00.
    assert "A Three-year-old hatchback 0 % £17,258 £17,258" in page
    assert "B Weekly rental, all in 100 % £16,190 £16,190" in page


def test_the_page_says_the_same_each_time(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = pcp_and_rental(keeper)
    assert shown(everyone["keeper"], address(comparison)) == shown(everyone["keeper"], address(comparison))


@pytest.mark.parametrize(
    ("part", "words"),
    [(0.0, "0 %"), (0.0001, "under 1 %"), (0.384, "38 %"), (0.9999, "over 99 %"), (1.0, "100 %")],
)
def test_nearly_all_is_not_called_all(part: float, words: str) -> None:
    assert share_words(Odds("One", part, 0, 0, 0)) == words


def test_htmx_gets_the_part_alone_and_no_script_the_page(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = pcp_and_rental(keeper)
    part = everyone["keeper"].get(address(comparison), headers=HTMX)
    page = everyone["keeper"].get(address(comparison))
    assert re.match(r'\s*<section id="comparison_odds"', part.content.decode())
    assert "<h1>" in page.content.decode()
    assert "HX-Request" in page.headers["Vary"]


def test_what_cannot_be_compared_yet_leads_back(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = ComparisonFactory.create(member=keeper)
    answer = everyone["keeper"].get(address(comparison))
    assert answer.headers["Location"] == reverse("costing:comparison", args=[comparison.pk])
