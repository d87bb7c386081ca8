"""Logging where there is no signal: saved on the phone, sent in order, none twice, whatever fails in between."""

import os
import signal
from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
from django.conf import settings
from django.contrib.sessions.models import Session
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import BrowserContext, BrowserType, Page, expect

from costing.models import Fill
from fleet.models import Car
from instructors.models import Member
from tests.browser.conftest import PASSWORD, PATIENCE, PHONE, OpenPage, signed_in
from tests.browser.line import Line
from tests.factories import CarFactory, FillFactory
from tests.processes import BookProcess
from tests.servers import free_port, wait_until

FILL_LOG, WAITING, HOME = reverse("costing:fill-log"), reverse("costing:waiting"), reverse("costing:home")
#: What the phone holds, as its own pages count it.
HOLDS = """(told) => book.outbox.counts().then(
  ({ waiting, refused }) => waiting === told.waiting && refused === told.refused)"""
IS_READY = """() => navigator.serviceWorker.ready
  .then(() => book.outbox.kit()).then((kit) => Boolean(kit && navigator.serviceWorker.controller))"""
#: Once it is on the phone the form is a new one.
IS_SAVED_OR_ASKED = """() => !document.querySelector("[name=amount]").value ||
  document.querySelector(".ask button[name=is_right]")"""
#: A worker that takes its time, as on an old phone.
SLOW_TO_OPEN = """() => { const open = caches.open.bind(caches);
  caches.open = (name) => new Promise((done) => setTimeout(done, 1000)).then(() => open(name)); }"""
#: All that a phone keeps of what waits, as whoever holds the phone could read it.
STORED = """() => new Promise((done) => { indexedDB.open("book").onsuccess = (event) => {
  const all = event.target.result.transaction("waiting").objectStore("waiting").getAll();
  all.onsuccess = () => done(all.result.map((row) => Object.keys(row).sort().join() + JSON.stringify(row)));
}; })"""


@pytest.fixture
def car(member: Member) -> Car:
    """A car that has driven little since its last fill."""
    car = CarFactory(registration="QA51ABC", keeper=member)
    before = timezone.localdate() - timedelta(days=9)
    FillFactory(car=car, member=member, filled_on=before, odometer=47_000, amount="60.00", quantity="41")
    return car


@pytest.fixture
def phone(browser_type: BrowserType, browser_type_launch_args: dict[str, Any], tmp_path: Path) -> Iterator[Any]:
    """A function that turns a phone on, with all that it kept when it was last turned off; signed in as a member."""
    open_ones: list[BrowserContext] = []

    def turn_on(url: str, member: Member | None = None) -> Page:
        look = {"viewport": PHONE, "has_touch": True, "is_mobile": True, "locale": "en-GB", "base_url": url}
        context = browser_type.launch_persistent_context(tmp_path / "phone", **browser_type_launch_args, **look)
        open_ones.append(context)
        if member:
            sign_in(context, url, member)
        page = context.pages[0]
        page.set_default_timeout(PATIENCE)
        return page

    yield turn_on
    for context in open_ones:
        context.close()


def sign_in(context: BrowserContext, url: str, member: Member) -> None:
    """Sign in for as long as members stay signed in, so that it outlives the browser."""
    cookie = signed_in(member).cookies[settings.SESSION_COOKIE_NAME].value
    until = timezone.now().timestamp() + settings.SESSION_COOKIE_AGE
    context.add_cookies([{"name": settings.SESSION_COOKIE_NAME, "value": cookie, "url": url, "expires": until}])


def visit_once(page: Page) -> None:
    """Open the page for a fill with a signal, until the phone has what it needs without one."""
    page.goto(FILL_LOG)
    page.wait_for_function(IS_READY)


def log_fill(page: Page, number: int) -> None:
    """Type and save a fill of its own sum; 150 miles and a tank after the one before."""
    page.locator("[name=amount]").fill(f"{47 + number / 100:.2f}")
    page.locator("[name=quantity]").fill("34.5")
    page.locator("[name=odometer]").fill(str(47_000 + 150 * number))
    save(page)


def save(page: Page) -> None:
    """Save, and answer that it is right as often as that is asked."""
    page.locator("main .key.wide").tap()
    for _ in range(4):
        page.wait_for_function(IS_SAVED_OR_ASKED)
        if page.locator("[name=amount]").input_value() == "":
            return
        page.locator(".ask button[name=is_right]").first.tap()


def sums() -> list[str]:
    """The sums of the fills that were sent, in the order of their arrival."""
    return [str(fill.amount) for fill in Fill.objects.exclude(amount=60).order_by("pk")]


def sums_of(numbers: range) -> list[str]:
    return [f"{47 + number / 100:.2f}" for number in numbers]


def waits(page: Page, waiting: int, refused: int = 0) -> bool:
    """Whether the phone holds so many, once it has done what it is at; else the wait for it fails."""
    page.wait_for_function(HOLDS, arg={"waiting": waiting, "refused": refused})
    return True


def test_thirty_entries_over_three_pages_and_a_restart_arrive_in_order_and_once(
    live_server: Any, phone: Callable[..., Page], car: Car
) -> None:
    with Line(urlsplit(live_server.url).port) as line:
        page = phone(line.url, car.keeper)
        visit_once(page)
        line.cut()
        for load in range(3):
            if load == 2:
                page.context.close()
                page = phone(line.url)
            page.goto(FILL_LOG)
            for number in range(10 * load + 1, 10 * load + 11):
                log_fill(page, number)
            expect(page.locator("#said")).to_contain_text(f"{10 * load + 10} waiting to be sent")
        assert sums() == []
        assert not [row for row in page.evaluate(STORED) if "47." in row], "the entries are sealed"
        line.mend()
        page.goto(HOME)
        wait_until(lambda: len(sums()) >= 5, "the first to arrive")
        line.cut()
        assert page.evaluate("() => book.outbox.send()") is False
        assert 5 <= len(sums()) < 30
        line.mend()
        page.goto(WAITING)
        wait_until(lambda: len(sums()) >= 30, "the last to arrive")
        page.wait_for_function("() => book.outbox.counts().then(({ waiting }) => waiting === 0)")
    assert sums() == sums_of(range(1, 31))


def kill_server(server: BookProcess) -> None:
    """End a server as a power cut would: whatever it was doing, in all its processes."""
    children = Path(f"/proc/{server.pid}/task/{server.pid}/children").read_text().split()
    server.process.send_signal(signal.SIGSTOP)
    for child in children:
        os.kill(int(child), signal.SIGKILL)
    server.kill()


def test_a_server_killed_in_the_middle_of_sending_gets_each_entry_once(
    book_process: Callable[..., BookProcess], phone: Callable[..., Page], car: Car
) -> None:
    port = free_port()

    def serve() -> BookProcess:
        server = book_process("manage.py", "serve", f"127.0.0.1:{port}", SECRET_KEY=settings.SECRET_KEY)
        server.wait_for_output("The book is served")
        return server

    server = serve()
    page = phone(f"http://localhost:{port}", car.keeper)
    visit_once(page)
    page.context.set_offline(True)
    for number in range(1, 13):
        log_fill(page, number)
    for arrived in (1, 5):
        page.context.set_offline(False)
        page.evaluate("() => { book.outbox.send(); }")
        wait_until(lambda arrived=arrived: len(sums()) >= arrived, "some to arrive")
        kill_server(server)
        page.wait_for_timeout(300)
        assert sums() == sums_of(range(1, len(sums()) + 1))
        server = serve()
    page.goto(WAITING)
    wait_until(lambda: len(sums()) >= 12, "the last to arrive")
    page.wait_for_function("() => book.outbox.counts().then(({ waiting }) => waiting === 0)")
    assert sums() == sums_of(range(1, 13))


def test_nobody_else_on_the_phone_sees_or_sends_what_waits(
    live_server: Any, open_page: OpenPage, car: Car, colleague: Member
) -> None:
    CarFactory(registration="QA24HVG", keeper=colleague)
    page = open_page(car.keeper)
    visit_once(page)
    page.context.set_offline(True)
    log_fill(page, 1)
    # Somebody else signs in on this phone before anything was sent.
    sign_in(page.context, live_server.url, colleague)
    page.context.set_offline(False)
    page.wait_for_function("() => book.outbox.kit().then((kit) => kit === undefined)")
    page.goto(HOME)
    page.wait_for_function(IS_READY)
    assert waits(page, 0)
    expect(page.locator("[data-waiting]")).to_be_hidden()
    page.goto(WAITING)
    expect(page.get_by_text("Nothing waits here.")).to_be_visible()
    assert page.evaluate("() => book.outbox.send()") is True
    assert len(page.evaluate(STORED)) == 1
    assert sums() == []
    page.goto(reverse("account_logout"))
    page.get_by_role("button", name="Sign out").tap()
    page.wait_for_url(f"**{reverse('account_login')}*")
    page.wait_for_function("() => book.outbox.kit().then((kit) => kit === undefined)")
    sign_in(page.context, live_server.url, car.keeper)
    page.goto(HOME)
    wait_until(lambda: sums() == sums_of(range(1, 2)), "the first member's fill to arrive")
    assert Fill.objects.get(amount=sums()[0]).member == car.keeper


def test_what_is_refused_comes_back_with_its_reason_and_can_be_put_right_or_dropped(
    open_page: OpenPage, car: Car
) -> None:
    page = open_page(car.keeper)
    visit_once(page)
    page.context.set_offline(True)
    log_fill(page, 1)
    log_fill(page, 2)
    # Meanwhile somebody else has read the odometer, so that the first cannot be.
    yesterday = timezone.localdate() - timedelta(days=1)
    FillFactory(car=car, member=car.keeper, filled_on=yesterday, odometer=47_200, amount="60.00")
    page.context.set_offline(False)
    wait_until(lambda: sums() == ["47.02"], "the second, which is right, to arrive")
    page.goto(HOME)
    page.get_by_role("link", name="1 to put right").tap()
    expect(page.locator("[data-why]")).to_contain_text("47,200")
    page.get_by_role("link", name="Correct it").tap()
    expect(page.locator("[name=amount]")).to_have_value("47.01")
    expect(page.locator("#id_odometer_words")).to_contain_text("47,200")
    page.locator("[name=odometer]").fill("47250")
    save(page)
    told, right = page.get_by_text("Logged: Fill, £47.01"), page.get_by_role("button", name="It is right")
    expect(told.or_(right).first).to_be_visible()
    if right.count():
        right.first.tap()
    expect(told).to_be_visible()
    assert waits(page, 0)
    assert sums() == ["47.02", "47.01"]
    page.context.set_offline(True)
    log_fill(page, 3)
    page.goto(WAITING)
    expect(page.get_by_text("Paid £47.03")).to_be_visible()
    expect(page.get_by_text("47,450 miles")).to_be_visible()
    page.get_by_role("button", name="Drop it").tap()
    page.get_by_role("button", name="Put it back").tap()
    expect(page.get_by_text("Paid £47.03")).to_be_visible()
    page.get_by_role("button", name="Drop it").tap()
    expect(page.get_by_text("Nothing waits here.")).to_be_visible()
    page.context.set_offline(False)
    assert page.evaluate("() => book.outbox.send()") is True
    assert sums() == ["47.02", "47.01"]


def test_a_session_that_ended_elsewhere_keeps_what_is_saved_until_one_signs_in_again(
    open_page: OpenPage, car: Car
) -> None:
    page = open_page(car.keeper)
    visit_once(page)
    page.goto(FILL_LOG)
    Session.objects.all().delete()
    log_fill(page, 1)
    expect(page.locator("#said")).to_contain_text("You are signed out")
    assert page.evaluate("() => book.outbox.kit()") is None
    page.get_by_role("link", name="Sign in").tap()
    page.get_by_label("E-mail address").fill(car.keeper.email)
    page.get_by_label("Password", exact=True).fill(PASSWORD)
    page.get_by_role("button", name="Sign in", exact=True).tap()
    wait_until(lambda: sums() == sums_of(range(1, 2)), "what was saved to arrive")
    assert page.url.endswith(FILL_LOG)


def test_what_another_key_sealed_is_said_to_be_lost_and_can_be_dropped(
    open_page: OpenPage, car: Car, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = open_page(car.keeper)
    visit_once(page)
    page.context.set_offline(True)
    log_fill(page, 1)
    # What the form began to send has failed by now: it would arrive, sealed by the key that the page still has in hand.
    assert page.evaluate("() => book.outbox.send()") is False
    monkeypatch.setattr("costing.kit.member_seal", lambda member: bytes(32))
    page.evaluate("() => book.outbox.wipe()")
    page.context.set_offline(False)
    page.goto(HOME)
    page.get_by_role("link", name="1 to put right").tap()
    expect(page.get_by_text("This cannot be read any more")).to_be_visible()
    page.get_by_role("button", name="Drop it").tap()
    expect(page.get_by_text("Nothing waits here.")).to_be_visible()


def test_any_other_page_says_that_there_is_no_signal_and_leads_to_the_log(open_page: OpenPage, car: Car) -> None:
    page = open_page(car.keeper)
    visit_once(page)
    page.context.set_offline(True)
    page.goto(reverse("costing:group"))
    expect(page.get_by_role("heading", name="No signal")).to_be_visible()
    page.get_by_role("navigation", name="Log").get_by_role("link", name="Fill").tap()
    log_fill(page, 1)
    page.get_by_role("link", name="1 waiting to be sent").tap()
    expect(page.get_by_role("heading", name="Waiting to be sent")).to_be_visible()
    expect(page.get_by_role("link", name="Correct it")).to_be_visible()


def test_a_signal_that_comes_back_after_a_tap_does_not_take_one_back(open_page: OpenPage, car: Car) -> None:
    page = open_page(car.keeper)
    visit_once(page)
    page.context.set_offline(True)
    page.goto(reverse("costing:group"))
    page.context.service_workers[0].evaluate(SLOW_TO_OPEN)
    page.evaluate("""() => window.addEventListener("beforeunload",
      () => setTimeout(() => window.dispatchEvent(new Event("online")), 100))""")
    page.get_by_role("navigation", name="Log").get_by_role("link", name="Fill").tap()
    page.wait_for_url(f"**{FILL_LOG}")
    expect(page.locator("[name=amount]")).to_be_visible()


def test_without_a_secure_line_a_form_is_sent_as_any_other(open_page: OpenPage, car: Car) -> None:
    page = open_page(car.keeper)
    page.add_init_script("Object.defineProperty(window, 'isSecureContext', { value: false });")
    page.goto(FILL_LOG)
    assert page.evaluate("() => book.outbox === undefined")
    page.locator("[name=amount]").fill("47.01")
    page.locator("[name=quantity]").fill("34.5")
    page.locator("[name=odometer]").fill("47150")
    page.locator("main .key.wide").tap()
    page.wait_for_url(f"**{HOME}")
    expect(page.get_by_text("Logged: Fill, £47.01")).to_be_visible()
