"""What stands on the page of what waits: apart, what is sent by itself and what waits for an answer."""

from django.urls import reverse
from playwright.sync_api import Page, expect

from fleet.models import Car
from tests.browser.conftest import OpenPage
from tests.browser.test_no_signal import HOLDS, IS_READY, WAITING

COST_LOG = reverse("costing:cost-log")


def log_cost(page: Page, amount: str, category: str = "cleaning") -> None:
    """Save what was paid today."""
    page.locator(f"[name=category][value={category}]").evaluate("(one) => one.click()")
    page.locator("[name=amount]").fill(amount)
    page.locator("main .key.wide").tap()


def test_what_is_asked_about_waits_for_an_answer_and_not_for_a_signal(open_page: OpenPage, taught_car: Car) -> None:
    page = open_page(taught_car.keeper)
    # Without the script that asks on the phone it is the book that asks.
    page.route("**/plausible*.js", lambda route: route.abort())
    page.goto(COST_LOG)
    page.wait_for_function(IS_READY)
    log_cost(page, "1304")
    expect(page.get_by_role("button", name="It is right")).to_be_visible()
    page.context.set_offline(True)
    page.goto(COST_LOG)
    log_cost(page, "3.4", category="parking_tolls")
    expect(page.locator("#said")).to_contain_text("1 waiting to be sent")
    page.goto(WAITING)
    asked, unsent = page.locator("[data-asked]"), page.locator("[data-unsent]")
    expect(asked.locator("li")).to_contain_text("Paid £1,304")
    expect(asked).not_to_contain_text("sent by itself")
    expect(unsent.locator("li")).to_contain_text("Paid £3.40")
    expect(unsent).to_contain_text("It is sent by itself as soon as there is a signal")
    page.context.set_offline(False)
    assert page.evaluate("() => book.outbox.send()") is True
    expect(unsent).to_be_hidden()
    # Of another category it is another cost; of the same one it is what was meant.
    expect(asked.locator("li")).to_contain_text("Paid £1,304")
    page.goto(COST_LOG)
    page.wait_for_function(IS_READY)
    log_cost(page, "13.04")
    expect(page.locator("#said")).to_contain_text("What the book asked about before is dropped.")
    page.wait_for_function(HOLDS, arg={"waiting": 0, "refused": 0})
    page.get_by_role("button", name="Keep that too").tap()
    page.wait_for_function(HOLDS, arg={"waiting": 0, "refused": 1})
