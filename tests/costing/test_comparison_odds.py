"""How often each offer is cheapest when the uncertain figures are drawn at random."""

import re
from fractions import Fraction

import pytest
from django.test import Client
from django.urls import reverse

from costing.choosing.core.chances import Odds
from costing.choosing.pictures.odds import share_words
from costing.models import Comparison
from instructors.models import Member
from tests.costing.offered import PCP, RENTAL, RUNNING, USE, add_offers, pcp_and_rental
from tests.costing.pages import HTMX, shown
from tests.factories import ComparisonFactory

pytestmark = pytest.mark.usefixtures("today")

RENT = {"input": "payment", "offer": "Weekly rental, all in", "low": "90.00", "likely": "90.00", "high": "90.00"}


def address(comparison: Comparison) -> str:
    return reverse("costing:comparison-odds", args=[comparison.pk])


def test_nobody_else_sees_them(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = pcp_and_rental(keeper)
    answers = {name: client.get(address(comparison)).status_code for name, client in everyone.items()}
    assert answers == {"keeper": 200, "colleague": 404, "coordinator": 404, "stranger": 404, "anonymous": 302}


def test_without_a_range_there_are_none_and_the_way_to_tell_one(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = pcp_and_rental(keeper)
    page = shown(everyone["keeper"], address(comparison))
    assert "No figure has a range, and there are no chances of leaving." in page
    assert "Say how far the figures may go" in page
    assert "Cheapest in" not in page


def test_where_not_all_is_told_there_are_none(everyone: dict[str, Client], keeper: Member) -> None:
    running = {key: value for key, value in RUNNING.items() if key != "repairs_per_year"}
    page = shown(everyone["keeper"], address(pcp_and_rental(keeper, running=running, uncertain=[RENT])))
    assert "Cheapest in" not in page
    assert "Not everything that Small estate costs is told." in page


def test_ones_own_ranges_are_drawn_from_and_the_rest_is_named(everyone: dict[str, Client], keeper: Member) -> None:
    page = shown(everyone["keeper"], address(pcp_and_rental(keeper, uncertain=[RENT])))
    # At £90 a week the rental is cheaper whatever else happens: 27,880.00 - 130 x 51.00.
    assert "A Small estate 0% £24,593 £24,593" in page
    assert "B Weekly rental, all in 100% £21,250 £21,250" in page
    assert "B’s payment: from £90 to £90, most likely £90." in page
    assert "Without a range, so always as planned: what A’s car fetches at the end; the miles in a year" in page


def test_where_only_the_chances_of_leaving_are_drawn_it_says_so(everyone: dict[str, Client], keeper: Member) -> None:
    chances = {"leaving": [{"month": 7, "chance": "0.25"}]}
    page = shown(everyone["keeper"], address(pcp_and_rental(keeper, use=USE | chances)))
    assert "Each draw leaves by your chances, 10,000 draws in all. No figure has a range" in page
    assert "We drew every figure" not in page
    page = shown(everyone["keeper"], address(pcp_and_rental(keeper, use=USE | chances, uncertain=[RENT])))
    assert (
        "We drew every figure that has a range at random, 10,000 times, and each draw leaves by your chances." in page
    )


def test_ranges_told_with_an_offer_and_premiums_by_year_are_drawn_too(
    everyone: dict[str, Client], keeper: Member
) -> None:
    spread = {"low": "6000.00", "likely": "7600.00", "high": "8200.00"}
    premiums = [{"low": "1000.00", "likely": "1140.00", "high": "1500.00"}, "985.00"]
    comparison = ComparisonFactory.create(member=keeper, use=USE, running=RUNNING | {"insurance": premiums})
    add_offers(comparison, ("pcp", "Estate", PCP | {"value_at_horizon": spread}), ("weekly_rental", "Rent", RENTAL))
    page = shown(everyone["keeper"], address(comparison))
    assert "What A’s car fetches at the end: from £6,000 to £8,200, most likely £7,600." in page
    assert "Insurance in the first year (year 1): from £1,000 to £1,500" in page
    assert "A is the cheapest in" in page


def test_the_page_says_the_same_each_time(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = pcp_and_rental(keeper, uncertain=[RENT])
    assert shown(everyone["keeper"], address(comparison)) == shown(everyone["keeper"], address(comparison))


@pytest.mark.parametrize(
    ("part", "words"),
    [("0", "0%"), ("0.0001", "under 1%"), ("0.384", "38%"), ("0.9999", "over 99%"), ("1", "100%")],
)
def test_nearly_all_is_not_called_all(part: str, words: str) -> None:
    assert share_words(Odds("One", Fraction(part), 0, 0, 0, 0)) == words


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
