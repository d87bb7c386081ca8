"""What a phone keeps of its member, and what it says at once: in two pages, of two members, with no signal."""

from datetime import timedelta
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Page, Route, expect

from costing.models import Fill
from fleet.models import Car
from instructors.models import Member
from instructors.queries import member_seal
from tests.browser.conftest import OpenPage
from tests.browser.test_every_page import faults_now
from tests.browser.test_no_signal import (
    FILL_LOG,
    HOME,
    WAITING,
    car,
    log_fill,
    sign_in,
    sums,
    visit_once,
    waits,
)
from tests.factories import CarFactory

__all__ = ["car"]
#: All that the worker keeps, as text.
CACHED = """async () => {
  const found = [];
  for (const name of await caches.keys()) for (const request of await (await caches.open(name)).keys()) {
    found.push([new URL(request.url).pathname, await (await (await caches.open(name)).match(request)).text()]);
  }
  return found;
}"""
#: Whether what the phone keeps is of the member whose page asks.
IS_OF_THIS_PAGE = "() => book.outbox.kit().then((kit) => Boolean(kit) && kit.member === document.body.dataset.member)"
#: What the phone keeps of its member beside what waits.
KEPT = "() => book.outbox.kit().then((kept) => [JSON.stringify(kept), kept.key.extractable])"


def visit_home_and_log(page: Page) -> None:
    """Have all on the phone: what asks without a signal comes with a page that is no log page."""
    visit_once(page)
    page.goto(HOME)
    page.wait_for_function("() => caches.match('/static/plausible.js').then(Boolean)")
    page.goto(FILL_LOG)


def test_the_pages_that_the_phone_keeps_are_for_everybody(open_page: OpenPage, car: Car) -> None:
    page = open_page(car.keeper)
    visit_home_and_log(page)
    page.context.set_offline(True)
    log_fill(page, 1)
    for address in (FILL_LOG, reverse("costing:cost-log"), reverse("costing:teaching-log")):
        page.goto(address)
        page.wait_for_function("() => document.querySelector('[data-log]').kit")
        assert "\n".join(faults_now(page, address)) == ""
    for address, shows in ((WAITING, "[data-waiting-list] > li"), (reverse("costing:group"), "nav[aria-label=Log]")):
        page.goto(address)
        page.locator(shows).wait_for()
        assert "\n".join(faults_now(page, address)) == ""


def test_a_kit_on_its_way_while_somebody_signs_out_is_not_kept(open_page: OpenPage, car: Car, live_server: Any) -> None:
    """In another page of the same phone: whoever holds it next would see that member's figures."""
    page = open_page(car.keeper)
    visit_once(page)
    held: list[Route] = []

    def hold(route: Route) -> None:
        held.append(route)

    page.route("**/log/kit/", hold)
    with page.expect_request("**/log/kit/"):
        page.evaluate("() => { window.came = book.outbox.fetchKit('').then((kit) => kit === undefined); }")
    other = page.context.new_page()
    other.goto(reverse("account_logout"))
    answer = page.context.request.get(f"{live_server.url}/log/kit/")
    other.get_by_role("button", name="Sign out").tap()
    other.wait_for_function("() => book.outbox.kit().then((kit) => kit === undefined)")
    held[0].fulfill(response=answer)
    assert page.evaluate("() => window.came") is True
    assert page.evaluate("() => book.outbox.kit().then((kit) => kit === undefined)")


def test_what_is_missing_or_no_figure_is_said_at_once(open_page: OpenPage, car: Car) -> None:
    page = open_page(car.keeper)
    visit_home_and_log(page)
    page.context.set_offline(True)
    page.locator("[name=quantity]").fill("thirty")
    page.locator("main .key.wide").tap()
    expect(page.locator("#id_amount_words")).to_have_text("Fill this in.")
    expect(page.locator("#id_quantity_words")).to_contain_text("cannot be read")
    expect(page.locator("#id_odometer_words")).to_have_text("Fill this in.")
    expect(page.locator("[name=amount]")).to_be_focused()
    assert waits(page, 0)


def test_less_than_nothing_is_no_question_but_refused(open_page: OpenPage, car: Car) -> None:
    page = open_page(car.keeper)
    visit_home_and_log(page)
    for name, figure in (("amount", "-5"), ("quantity", "34.5"), ("odometer", "47150")):
        page.locator(f"[name={name}]").fill(figure)
    page.locator("main .key.wide").tap()
    expect(page.locator("#id_amount_words")).to_contain_text("This is less than £0")


def test_what_waits_is_told_with_its_day(open_page: OpenPage, car: Car) -> None:
    page = open_page(car.keeper)
    visit_home_and_log(page)
    page.context.set_offline(True)
    day = timezone.localdate() - timedelta(days=1)
    page.locator("[name=filled_on]").fill(day.isoformat())
    log_fill(page, 1)
    page.goto(WAITING)
    expect(page.locator("[data-waiting-list] > li")).to_contain_text(f"{day:%-d %B} · Paid £47.01")


def test_what_waits_counts_as_the_last_odometer_and_is_undone(open_page: OpenPage, car: Car) -> None:
    page = open_page(car.keeper)
    visit_home_and_log(page)
    page.context.set_offline(True)
    log_fill(page, 1)
    expect(page.locator("label[for=id_odometer]")).to_contain_text("47,150, not sent yet")
    # The same again is asked about, and a slip is one on the fill that waits.
    for name, figure in (("amount", "47.01"), ("quantity", "34.5"), ("odometer", "47150")):
        page.locator(f"[name={name}]").fill(figure)
    page.locator("main .key.wide").tap()
    expect(page.get_by_role("button", name="Leave it out")).to_be_visible()
    page.locator("[name=odometer]").fill("46150")
    page.locator("[name=amount]").fill("50.00")
    page.locator("main .key.wide").tap()
    expect(page.locator("main .ask").first).to_contain_text("It showed 47,150 miles")
    page.goto(FILL_LOG)
    log_fill(page, 2)
    page.get_by_role("button", name="Undo").tap()
    expect(page.get_by_text("Undone: it is not sent.")).to_be_visible()
    assert waits(page, 1)


def test_a_double_tap_logs_one(open_page: OpenPage, car: Car) -> None:
    page = open_page(car.keeper)
    visit_once(page)
    for name, figure in (("amount", "47.01"), ("quantity", "34.5"), ("odometer", "47150")):
        page.locator(f"[name={name}]").fill(figure)
    page.locator("main .key.wide").dblclick()
    expect(page.get_by_text("Logged: Fill, £47.01")).to_be_visible()
    assert sums() == ["47.01"]


def test_a_page_of_one_member_saves_nothing_for_another_who_signs_in_beside_it(
    live_server: Any, open_page: OpenPage, car: Car, colleague: Member
) -> None:
    CarFactory(registration="QA24HVG", keeper=colleague)
    page = open_page(car.keeper)
    visit_once(page)
    page.locator("[name=amount]").fill("47.01")
    sign_in(page.context, live_server.url, colleague)
    other = page.context.new_page()
    other.goto(HOME)
    # Until the phone holds the colleague's kit, what is saved is sealed for the keeper and waits for them.
    other.wait_for_function(IS_OF_THIS_PAGE)
    page.locator("[name=quantity]").fill("34.5")
    page.locator("[name=odometer]").fill("47150")
    page.locator("main .key.wide").tap()
    expect(page.get_by_text("Somebody else has signed in on this phone. Nothing is saved.")).to_be_visible()
    expect(page.locator("[name=amount]")).to_have_value("47.01")
    assert waits(other, 0)
    assert not Fill.objects.filter(member=colleague).exists()


def test_nothing_of_a_member_is_in_what_the_worker_keeps(
    open_page: OpenPage, car: Car, caplog: pytest.LogCaptureFixture
) -> None:
    page = open_page(car.keeper)
    visit_once(page)
    pages = [reverse(f"costing:{name}") for name in ("entries", "more", "group", "cost-log", "teaching-log", "kit")]
    for address in [HOME, *pages, reverse("fleet:car", args=[car.registration]), f"{FILL_LOG}?car={car.registration}"]:
        page.goto(address)
    page.goto(WAITING)
    kept = dict(page.evaluate(CACHED))
    assert WAITING in kept
    assert all(path == WAITING or path.startswith("/static/") for path in kept)
    text = "".join(kept.values())
    token = page.context.request.get(reverse("costing:kit")).json()["token"]
    for canary in (car.registration, "QA51 ABC", car.keeper.name, car.keeper.email, "47,000", token, "data-member="):
        assert canary not in text, canary
    told, is_extractable = page.evaluate(KEPT)
    assert not is_extractable
    assert "seal" not in told
    assert member_seal(car.keeper).hex() not in caplog.text
