"""The pages of a comparison in a real browser: with no offer, with one, and with six under the longest names."""

import pytest
from django.urls import reverse

from costing.models import Comparison
from instructors.models import Member
from tests.browser.conftest import OpenPage
from tests.browser.test_every_page import WIDER_THAN_THE_SCREEN, faults_of
from tests.costing.offered import six_offers
from tests.factories import ComparisonFactory, OfferFactory

PAGES = ("comparison", "comparison-switching", "comparison-odds", "comparison-ranges")


def with_one_offer(member: Member) -> Comparison:
    comparison: Comparison = ComparisonFactory.create(member=member)
    OfferFactory(comparison=comparison)
    return comparison


@pytest.mark.parametrize("compared", [with_one_offer, six_offers])
def test_every_page_of_a_comparison(open_page: OpenPage, member: Member, compared) -> None:
    comparison, page = compared(member), open_page(member)
    for name in PAGES:
        assert faults_of(page, reverse(f"costing:{name}", args=[comparison.pk])) == []


def test_a_comparison_without_offers(open_page: OpenPage, member: Member) -> None:
    comparison = ComparisonFactory.create(member=member)
    assert faults_of(open_page(member), reverse("costing:comparison", args=[comparison.pk])) == []


def test_the_heavy_parts_come_into_the_page(open_page: OpenPage, member: Member) -> None:
    page = open_page(member)
    said: list[str] = []
    page.on("console", lambda message: said.append(message.text) if message.type == "error" else None)
    page.goto(reverse("costing:comparison", args=[six_offers(member).pk]))
    page.locator("#comparison_switching h3").first.wait_for()
    page.locator("#comparison_odds svg").first.wait_for()
    for details in page.locator("details.more").all():
        details.evaluate("element => element.open = true")
    for width in (320, 390, 768, 1280):
        page.set_viewport_size({"width": width, "height": 844})
        assert page.evaluate(WIDER_THAN_THE_SCREEN) <= 0
    assert said == []
