"""Back after something was saved: the page is asked for again, and shows what is so now."""

from urllib.parse import urlsplit

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Page, expect

from costing.core.periods import last_ended_month
from fleet.models import Car
from tests.browser.conftest import OpenPage


@pytest.mark.parametrize("script", [True, False])
def test_back_shows_the_figure_that_what_was_saved_has_changed(
    open_page: OpenPage, taught_car: Car, script: bool
) -> None:
    page = open_page(taught_car.keeper, script=script)
    # Twice: from the second on the browser sends the same cookies, without which it would ask again anyway.
    page.goto(reverse("costing:home"))
    page.goto(reverse("costing:home"))
    closed = page.locator("main tr", has_text=f"{last_ended_month(timezone.localdate()).first:%b %Y}")
    expect(closed).to_contain_text("£1.00")
    page.get_by_role("link", name="Fill").click()
    page.get_by_label("Paid").fill("60.00")
    page.get_by_label("Fuel").fill("41.2")
    page.get_by_label("Odometer").fill("48,060")
    page.get_by_label("Day").fill(last_ended_month(timezone.localdate()).last.isoformat())
    page.get_by_role("button", name="Save this fill").click()
    expect(page.get_by_text("Logged: Fill, £60.00")).to_be_visible()
    go_back_to(page, reverse("costing:home"))
    expect(closed).to_contain_text("£3.00")


def test_nobody_sees_a_page_by_going_back_after_signing_out(open_page: OpenPage, taught_car: Car) -> None:
    page = open_page(taught_car.keeper)
    page.goto(reverse("costing:home"))
    page.goto(reverse("account_logout"))
    page.locator("main").get_by_role("button", name="Sign out").click()
    expect(page.get_by_role("heading", name="Sign in")).to_be_visible()
    for _ in range(2):
        page.go_back()
        expect(page.get_by_role("heading", name="Sign in")).to_be_visible()
        expect(page.get_by_text("a lesson hour")).to_have_count(0)


def test_a_page_that_the_browser_kept_whole_is_asked_for_again(open_page: OpenPage, taught_car: Car) -> None:
    """Playwright switches such keeping off: what the browser says on showing one is said in its place."""
    page = open_page(taught_car.keeper)
    page.goto(reverse("costing:home"))
    with page.expect_navigation():
        page.evaluate("window.dispatchEvent(new PageTransitionEvent('pageshow', {persisted: true}))")


def go_back_to(page: Page, path: str) -> None:
    """Back, as often as it takes to come to a path."""
    for _ in range(4):
        page.go_back()
        if urlsplit(page.url).path == path:
            return
    raise AssertionError(f"{path} does not come; this is {page.url}")
