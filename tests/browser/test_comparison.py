"""The pages of a comparison in a real browser: with no offer, one, four, and six under the longest names."""

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from costing.models import Comparison
from instructors.models import Member
from tests.browser.conftest import OpenPage
from tests.browser.test_every_page import WIDER_THAN_THE_SCREEN, faults_of
from tests.costing.offered import HIRE, OWNED, PCP, RENTAL, RUNNING, USE, add_offers, pcp_and_rental, six_offers
from tests.factories import ComparisonFactory, OfferFactory

PAGES = ("comparison", "comparison-switching", "comparison-odds", "comparison-ranges")
#: A phone's screens that the page may take with all folded.
MOST_SCREENS = 5
#: The regions of tables that are wider than their place.
SCROLLING = """() => [...document.querySelectorAll('.scroll')]
    .filter(region => region.offsetParent && region.scrollWidth > region.clientWidth + 1)
    .map(region => region.ariaLabel)"""


def with_one_offer(member: Member) -> Comparison:
    comparison: Comparison = ComparisonFactory.create(member=member)
    OfferFactory(comparison=comparison)
    return comparison


def with_four_offers(member: Member) -> Comparison:
    """With chances and a purse, so that everything is there that can be."""
    leaving = [{"month": 7, "chance": "0.25"}, {"month": 13, "chance": "0.10"}]
    use = USE | {"cash_in_hand": "4000.00", "put_by_per_month": "650.00", "leaving": leaving}
    comparison: Comparison = ComparisonFactory.create(member=member, use=use, running=RUNNING)
    kinds = {"pcp": PCP, "weekly_rental": RENTAL, "contract_hire": HIRE, "owned": OWNED}
    add_offers(comparison, *((kind, f"Quote for a {kind}", terms) for kind, terms in kinds.items()))
    return comparison


def with_nothing_told(member: Member) -> Comparison:
    comparison: Comparison = ComparisonFactory.create(member=member, running={})
    rent = {"payment": "140.00", "payments": 26, "frequency": "week"}
    add_offers(comparison, ("owned", "Car", {"price": "9500.00"}), ("weekly_rental", "Rent", rent))
    return comparison


def address(comparison: Comparison) -> str:
    return reverse("costing:comparison", args=[comparison.pk])


def errors_on(page: Page) -> list[str]:
    """What the console says is wrong, as it comes in."""
    said: list[str] = []
    page.on("console", lambda message: said.append(message.text) if message.type == "error" else None)
    return said


@pytest.mark.parametrize("compared", [with_one_offer, with_four_offers, with_nothing_told, six_offers])
def test_every_page_of_a_comparison(open_page: OpenPage, member: Member, compared) -> None:
    comparison, page = compared(member), open_page(member)
    for name in PAGES:
        assert faults_of(page, reverse(f"costing:{name}", args=[comparison.pk])) == []


def test_a_comparison_without_offers(open_page: OpenPage, member: Member) -> None:
    comparison = ComparisonFactory.create(member=member)
    assert faults_of(open_page(member), address(comparison)) == []


@pytest.mark.parametrize("compared", [with_one_offer, pcp_and_rental, with_four_offers, six_offers])
def test_with_all_folded_the_page_is_at_most_five_screens_long(open_page: OpenPage, member: Member, compared) -> None:
    page = open_page(member)
    page.set_viewport_size({"width": 390, "height": 844})
    page.goto(address(compared(member)))
    assert page.evaluate("document.documentElement.scrollHeight") <= MOST_SCREENS * 844


@pytest.mark.parametrize("compared", [pcp_and_rental, six_offers, with_four_offers])
def test_the_columns_fit_a_phone(open_page: OpenPage, member: Member, compared) -> None:
    page = open_page(member)
    for width in (320, 390):
        page.set_viewport_size({"width": width, "height": 844})
        page.goto(address(compared(member)) if width == 320 else page.url)
        assert page.evaluate(SCROLLING) == []


def test_the_heavy_parts_come_into_the_page_when_they_are_opened(open_page: OpenPage, member: Member) -> None:
    page = open_page(member)
    said = errors_on(page)
    rent = {"input": "payment", "offer": "Weekly rental, all in", "low": "130", "likely": "141", "high": "160"}
    page.goto(address(pcp_and_rental(member, uncertain=[rent])))
    page.get_by_text("A figure turns out differently").click()
    page.locator("#comparison_switching h3").first.wait_for()
    page.get_by_text("All figures turn out differently: the odds").click()
    page.locator("#comparison_odds svg").first.wait_for()
    page.evaluate("document.querySelectorAll('details').forEach(one => one.open = true)")
    for width in (320, 390, 768, 1280):
        page.set_viewport_size({"width": width, "height": 844})
        assert page.evaluate(WIDER_THAN_THE_SCREEN) <= 0
    assert said == []


def test_another_month_is_worked_out_in_the_page(open_page: OpenPage, member: Member) -> None:
    page = open_page(member)
    said = errors_on(page)
    page.goto(address(pcp_and_rental(member)))
    page.get_by_text("Another month, or other weeks").click()
    page.get_by_label("Leave in month").fill("9")
    page.get_by_role("button", name="Work it out").click()
    expect(page.get_by_text("the ways out in month 9")).to_be_visible()
    expect(page.get_by_text("Leave in month 9")).to_be_visible()
    page.get_by_text("Another month, or other weeks").click()
    page.get_by_label("Leave in month").fill("99")
    page.get_by_role("button", name="Work it out").click()
    expect(page.get_by_text("The comparison ends after 30 months.").first).to_be_visible()
    assert said == []
