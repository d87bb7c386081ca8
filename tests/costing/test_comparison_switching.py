"""What would change the answer, in sentences."""

import re

import pytest
from django.test import Client
from django.urls import reverse

from costing.models import Comparison
from instructors.models import Member
from tests.costing.offered import RENTAL, add_offers, long_name, pcp_and_rental, six_offers
from tests.costing.pages import HTMX, shown
from tests.factories import ComparisonFactory

pytestmark = pytest.mark.usefixtures("today")


def address(comparison: Comparison) -> str:
    return reverse("costing:comparison-switching", args=[comparison.pk])


def test_nobody_else_sees_it(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = pcp_and_rental(keeper)
    answers = {name: client.get(address(comparison)).status_code for name, client in everyone.items()}
    assert answers == {"keeper": 200, "colleague": 404, "coordinator": 404, "stranger": 404, "anonymous": 302}


def test_each_value_is_a_sentence(everyone: dict[str, Client], keeper: Member) -> None:
    page = shown(everyone["keeper"], address(pcp_and_rental(keeper)))
    assert "A Three-year-old hatchback is cheaper than B Weekly rental, all in" in page
    # The two are £2,988.11 apart: 6,900.00 - 2,988.11, and 129.00 less 104 payments' share of it.
    assert (
        "wins if what Three-year-old hatchback fetches at the end is below £3,911.89. The plan has £6,900.00." in page
    )
    assert "wins if the payment for Weekly rental, all in is below £100.27. The plan has £129.00." in page
    assert "Weekly rental, all in wins if you leave after 14 months instead of 24 months." in page


def test_what_changes_nothing_is_said_with_its_range(everyone: dict[str, Client], keeper: Member) -> None:
    page = shown(everyone["keeper"], address(pcp_and_rental(keeper)))
    nothing = page[page.index("What makes no difference") :]
    assert "repairs a year: anything from £0.00 to £1,200.00" in nothing
    assert "miles a year: anything from 240 miles to 72,000 miles" in nothing
    assert "fuel a mile: anything from 0.0p to 40.5p" in nothing


def test_ones_own_range_is_the_one_looked_at(everyone: dict[str, Client], keeper: Member) -> None:
    row = {"input": "repairs_per_year", "low": "150.00", "likely": "400.00", "high": "1400.00"}
    page = shown(everyone["keeper"], address(pcp_and_rental(keeper, uncertain=[row])))
    assert "repairs a year: anything from £150.00 to £1,400.00" in page


def test_weeks_without_lessons_may_change_it(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = ComparisonFactory.create(member=keeper)
    paused = RENTAL | {"payment": "131.00", "pauses_when_off": True}
    add_offers(comparison, ("weekly_rental", "Runs on", RENTAL), ("weekly_rental", "Pauses", paused))
    # 104 weeks at £2 more are made up for by two weeks at £131.
    assert "Pauses wins if you give no lessons for 2 weeks." in shown(everyone["keeper"], address(comparison))


def test_equal_offers_are_said_to_be_equal(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = ComparisonFactory.create(member=keeper)
    terms = {"price": "9500.00", "value_at_horizon": "6200.00"}
    add_offers(comparison, ("owned", "One", terms), ("owned", "Other", terms))
    page = shown(everyone["keeper"], address(comparison))
    assert "At £6,200.00, the figure planned for what One fetches at the end, both cost the same." in page


def test_pairs_with_the_cheapest_come_before_the_others(everyone: dict[str, Client], keeper: Member) -> None:
    page = shown(everyone["keeper"], address(six_offers(keeper)))
    first, others = page.split("Between the dearer offers")
    # Six offers make fifteen pairs, five of them with the cheapest, which is the one owned outright.
    for part, count in ((first, 5), (others, 10)):
        assert part.count("What makes no difference") == count
    assert first.count("stays cheaper with") == first.count(f"{long_name('owned', 3)} stays cheaper with")


def test_one_offer_has_nothing_to_be_held_against(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = ComparisonFactory.create(member=keeper)
    add_offers(comparison, ("weekly_rental", "Rental", RENTAL))
    assert "Add a second offer" in shown(everyone["keeper"], address(comparison))


def test_htmx_gets_the_part_alone_and_no_script_the_page(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = pcp_and_rental(keeper)
    part = everyone["keeper"].get(address(comparison), headers=HTMX)
    page = everyone["keeper"].get(address(comparison))
    assert re.match(r'\s*<section id="comparison_switching"', part.content.decode())
    assert "<h1>" in page.content.decode()
    assert "HX-Request" in part.headers["Vary"]
    assert "HX-Request" in page.headers["Vary"]


def test_what_cannot_be_compared_yet_leads_back(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = ComparisonFactory.create(member=keeper)
    answer = everyone["keeper"].get(address(comparison))
    assert answer.status_code == 302
    assert answer.headers["Location"] == reverse("costing:comparison", args=[comparison.pk])
