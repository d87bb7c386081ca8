"""Every page in a real browser, empty and full: for everybody's eyes, hands and phones (WCAG 2.2 AA)."""

import hashlib
import re
from collections.abc import Iterable, Iterator
from datetime import timedelta
from functools import partial
from typing import Any

import pytest
from allauth.mfa.totp.internal.auth import TOTP
from axe_playwright_python.sync_playwright import Axe
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Page, Route, expect

from costing.core.catalogue.agreements import AGREEMENT_KINDS
from costing.models import Comparison, CostEntry, TeachingRecord
from fleet.models import Car, Defect
from instructors.models import Member
from tests.addresses import answers_to, one_of_each, pages_for
from tests.browser.conftest import PASSWORD, OpenPage, signed_in
from tests.costing.offered import pcp_and_rental
from tests.factories import (
    ActFactory,
    CostEntryFactory,
    DefectFactory,
    DefectStepFactory,
    InvitationFactory,
    OfferFactory,
    PulseFactory,
)
from tests.mailserver import MailServer
from tests.matrix.canaries import Canaries
from tests.matrix.factors import add_passkey

#: Everything that is pressed or typed in, but for links in running text; of a tick box, its whole label.
SMALL_TARGETS = """() => [..."a, button, select, textarea, summary, input:not([type=hidden])".split(", ")]
  .flatMap((selector) => [...document.querySelectorAll(selector)])
  .map((element) => element.matches("[type=checkbox], [type=radio]") ? element.closest("label") : element)
  .filter((element) => element.checkVisibility({visibilityProperty: true}) && !element.matches(".skip"))
  .filter((element) => !(element.matches("a") && getComputedStyle(element).display === "inline"))
  .map((element) => [element.outerHTML.slice(0, 90), element.getBoundingClientRect()])
  .filter(([, box]) => box.width < 44 || box.height < 44)
  .map(([html, box]) => `${html} ${box.width}x${box.height}`)"""

#: Of an authenticator app.
SECRET = "JBSWY3DPEHPK3PXP"  # noqa: S105 - of a made-up member

#: What a page may have once at most: an h1, a mirror, a filled key (an answer in a question counts as its own).
MORE_THAN_ONE = """() => ["h1", ".mirror", ".key:not(.second, .third, .plain, .ask .key)"]
  .map((selector) => [selector, [...document.querySelectorAll(selector)].filter((one) => one.checkVisibility()).length])
  .filter(([selector, count]) => count > 1 || (selector === "h1" && count < 1))
  .map(([selector, count]) => `${count} times ${selector}`)"""

DOUBLE_IDS = """() => [...document.querySelectorAll("[id]")].map((one) => one.id)
  .filter((id, at, all) => all.indexOf(id) !== at).map((id) => `two elements have the id ${id}`)"""

#: As a reader has it who has set the letters twice as large.
LARGE_TEXT = "(size) => { document.documentElement.style.fontSize = size; }"

WIDER_THAN_THE_SCREEN = "() => document.documentElement.scrollWidth - document.documentElement.clientWidth"


#: Addresses that open only in the middle of something: what opens them, or why nothing does.
OPENED_ON_THE_WAY = {
    "cars/<str:mark>/check/": "leads on to a group of a check",
    "defects/<int:pk>/again/": "test_pages_of_defects",
    "bring/rows/": "test_the_rows_of_a_file",
    "odd/dismiss/<str:mark>/<str:kind>/<str:rests_on>/": "test_something_odd_is_dismissed",
    "statement/pdf/": "no page: a PDF, or the way back to the statement",
    "statement/year/pdf/": "no page: a PDF, or the way back to the statement",
    "papers/<uuid:pk>/file/": "no page: a PDF, once it is made",
    "invitation/<str:token>/": "test_an_invitation_that_is_taken_up",
    "account/email/confirm/": "test_pages_on_the_way_to_another_address",
    "account/login/code/confirm/": "test_pages_on_the_way_in",
    "account/factors/show/": "test_pages_on_the_way_in",
    "account/factors/passkeys/sign-in/": "asked by a script",
    "calendar/<str:token>.ics": "no page: a calendar asks for it",
}


@pytest.fixture
def open_page(open_page: OpenPage) -> OpenPage:
    """Of these pages the book's own are looked at; what the phone keeps of them is in test_phone_keeps.py."""
    return partial(open_page, worker=False)


def things_of(car: Car, coordinator: Member) -> dict[str, Any]:
    """One of each thing that has a page, and what its keeper signs in with besides the password."""
    TOTP.activate(car.keeper, SECRET)
    passkey = add_passkey(Canaries(), "keeper", car.keeper)
    return one_of_each(car, coordinator) | {"account/factors/passkeys/": passkey.pk}


def pages_of_other_kinds(car: Car) -> Iterator[str]:
    """What the addresses of the keeper's pages have for other kinds of the same thing."""
    yield f"{reverse('costing:entries')}?voided=1"
    yield f"{reverse('costing:entries')}?q=nothing+like+it"
    today = timezone.localdate()
    yield f"{reverse('costing:behind-figure')}?first={today - timedelta(days=90)}&last={today}"
    yield f"{reverse('costing:statement')}?first={today - timedelta(days=90)}&last={today}"
    for kind, model in {"cost": CostEntry, "lessons": TeachingRecord}.items():
        yield reverse("costing:entry-correct", args=[kind, model.objects.first().pk])


def pages_of_a_defect(defect: Defect) -> Iterator[str]:
    """What can be said of a defect as it stands."""
    steps = ("reopen",) if defect.state == "closed" else ("close", "reassess", "take-in-hand")
    for name in ("defect", *(f"defect-{step}" for step in steps)):
        yield reverse(f"fleet:{name}", args=[defect.pk])


def pages_of_a_comparison(comparison: Comparison) -> Iterator[str]:
    """What whoever made a comparison can open of it, step by step."""
    yield reverse("costing:comparison-list")
    for name in (
        *("comparison", "comparison-use", "comparison-running", "offer-add", "comparison-switching"),
        *("comparison-odds", "comparison-ranges", "keep-or-replace", "comparison-remove"),
    ):
        yield reverse(f"costing:{name}", args=[comparison.pk])
    for offer in comparison.offers.all():
        checked = ("offer-check",) if offer.is_bought else ()
        for name in ("offer-terms", *checked, "offer-accept", "expected-and-actual", "offer-remove"):
            yield reverse(f"costing:{name}", args=[offer.pk])


def faults_of(page: Page, address: str) -> list[str]:
    """All that is wrong with the page at an address: by day and by night, on phone and desk, in large text."""
    page.goto(address)
    return faults_now(page, address)


def faults_now(page: Page, address: str) -> list[str]:
    """The same of the page as it stands, come to by way of ``address``."""
    checks = (SMALL_TARGETS, MORE_THAN_ONE, DOUBLE_IDS)
    found = [f"{address}: {fault}" for check in checks for fault in page.evaluate(check)]
    found += _barriers(page, address, None)
    page.emulate_media(color_scheme="dark")
    found += _barriers(page, f"{address} in the dark", ["color-contrast"])
    page.emulate_media(color_scheme="light")
    for width, size in ((390, ""), (320, ""), (1280, ""), (390, "200%"), (320, "200%")):
        page.set_viewport_size({"width": width, "height": 844})
        page.evaluate(LARGE_TEXT, size)
        if (over := page.evaluate(WIDER_THAN_THE_SCREEN)) > 0:
            found.append(f"{address}: {over} pixels too wide at {width} {size}")
    page.evaluate(LARGE_TEXT, "")
    return found


def _barriers(page: Page, where: str, rules: list[str] | None) -> list[str]:
    """What axe finds, by these rules alone or by all."""
    options = {"runOnly": {"type": "rule", "values": rules}} if rules else None
    violations = Axe().run(page, options=options).response["violations"]
    return [f"{where}: {one['id']}: {node['html'][:160]}" for one in violations for node in one["nodes"]]


def faults_after_sending(page: Page, address: str) -> list[str]:
    """The same of the page at ``address``, to which the form that was just filled in leads."""
    page.locator("main .key[type=submit]").first.tap()
    page.wait_for_url(f"**{address}*")
    return faults_now(page, address)


def faults_of_all(page: Page, addresses: Iterable[str]) -> list[str]:
    return [fault for address in addresses for fault in faults_of(page, address)]


def test_pages_before_signing_in(open_page: OpenPage, transactional_db: None) -> None:
    assert faults_of_all(open_page(), pages_for(Client(), {})) == []


def test_pages_of_an_empty_book(open_page: OpenPage, member: Member) -> None:
    assert faults_of_all(open_page(member), [*pages_for(signed_in(member), {}), "/nowhere/"]) == []


def test_pages_of_a_full_book(open_page: OpenPage, full_book: Car, coordinator: Member) -> None:
    pages = pages_for(signed_in(full_book.keeper), things_of(full_book, coordinator))
    assert faults_of_all(open_page(full_book.keeper), [*pages, *pages_of_other_kinds(full_book)]) == []


def test_pages_of_a_coordinator(open_page: OpenPage, full_book: Car, coordinator: Member) -> None:
    known = one_of_each(full_book, coordinator)
    found = answers_to(signed_in(coordinator), known)
    # Of the rest the keeper sees the same.
    others = answers_to(signed_in(full_book.keeper), known)
    pages = [page for route, page in found.items() if route.startswith("cars/") or others[route] == "nothing"]
    assert faults_of_all(open_page(coordinator), [page for page in pages if page.startswith("/")]) == []


def test_no_address_is_forgotten(full_book: Car, coordinator: Member) -> None:
    # The suite may have run for so long that the schedule would be missed, and the address of health answer 503.
    now = timezone.now()
    PulseFactory.create(first_at=now, since=now, at=now)
    known = things_of(full_book, coordinator)
    clients = signed_in(full_book.keeper), signed_in(coordinator), Client()
    found = [answers_to(client, known) for client in clients]
    closed = {route for route in found[0] if all(answers[route] == "nothing" for answers in found)}
    assert closed == set(OPENED_ON_THE_WAY), "say in tests/addresses.py which thing opens it, or here what does"


#: A statement: a known payee, one asked about, money in, and a row that cannot be read.
STATEMENT = b"""Date,Description,Money Out,Money In
02/03/2026,INSURANCE,86.40,
03/03/2026,A PUPIL,,38.00
04/03/2026,GROCER,2100.00,
soon,GROCER,21.00,
"""


def test_the_rows_of_a_file(open_page: OpenPage, full_book: Car) -> None:
    page = open_page(full_book.keeper)
    page.goto(reverse("costing:bring-file"))
    page.locator("[type=file]").set_input_files({"name": "a.csv", "mimeType": "text/csv", "buffer": STATEMENT})
    page.get_by_label("Costs").check()
    page.locator("main .key[type=submit]").tap()
    expect(page.get_by_text("GROCER").first).to_be_visible()
    page.evaluate("for (const fold of document.querySelectorAll('details')) fold.open = true")
    assert "\n".join(faults_now(page, "the rows of a file")) == ""


def test_something_odd_is_dismissed(open_page: OpenPage, full_book: Car) -> None:
    today = timezone.localdate()
    for begins, ends in ((-300, -200), (-150, 100)):
        days = {"covers_from": today + timedelta(days=begins), "covers_to": today + timedelta(days=ends)}
        CostEntryFactory(car=full_book, category="breakdown_cover", paid_on=days["covers_from"], **days)
    page = open_page(full_book.keeper)
    page.goto(reverse("costing:odd-list"))
    page.get_by_role("link", name="Dismiss").first.tap()
    expect(page.get_by_label("Why this need not be looked into")).to_be_visible()
    assert "\n".join(faults_now(page, "something odd")) == ""


def test_pages_on_the_way_in(open_page: OpenPage, member: Member, smtp_server: MailServer) -> None:
    TOTP.activate(member, SECRET)
    page, code, step = open_page(), reverse("account_confirm_login_code"), reverse("mfa_authenticate")
    page.goto(reverse("account_request_login_code"))
    page.get_by_label("E-mail").fill(member.email)
    assert faults_after_sending(page, code) == []
    page.goto(reverse("account_login"))
    page.get_by_label("E-mail address").fill(member.email)
    page.get_by_label("Password", exact=True).fill(PASSWORD)
    assert faults_after_sending(page, step) == []


def test_pages_on_the_way_to_another_address(open_page: OpenPage, member: Member, smtp_server: MailServer) -> None:
    page = open_page(member)
    page.goto(reverse("instructors:email-change"))
    page.get_by_label("E-mail").fill("other@book.example")
    assert faults_after_sending(page, reverse("instructors:email-confirm")) == []


def test_an_invitation_that_is_taken_up(open_page: OpenPage, transactional_db: None) -> None:
    digest, until = hashlib.sha256(b"a-token").hexdigest(), timezone.now() + timedelta(days=3)
    InvitationFactory(token_digest=digest, expires_at=until)
    page, address = open_page(), reverse("instructors:accept-invitation", args=["a-token"])
    assert faults_of(page, address) == []
    expect(page.get_by_label("Name")).to_be_visible()


def test_an_invitation_that_is_handed_over(
    open_page: OpenPage, full_book: Car, coordinator: Member, smtp_server: MailServer
) -> None:
    smtp_server.refusing = True
    page, address = open_page(coordinator), reverse("instructors:invite")
    page.goto(address)
    page.get_by_label("E-mail").fill("new@book.example")
    page.get_by_label("Name").fill("Новий Інструктор")
    page.get_by_role("button", name="Send the invitation").tap()
    expect(page.get_by_label("Copy it now")).to_have_value(re.compile("http://localhost:8000/invitation/.+/"))
    assert faults_now(page, address) == []


def test_pages_of_defects(open_page: OpenPage, full_book: Car, coordinator: Member) -> None:
    found = DefectFactory(car=full_book, severity="dangerous", description="Brake pedal goes to the floor")
    mended = DefectFactory(
        car=full_book, description="Bulb of the left indicator", state="closed", closed_on=found.found_on
    )
    DefectStepFactory(defect=mended, state="closed", words="A new bulb")
    for member in (full_book.keeper, coordinator):
        for defect in (found, mended):
            assert faults_of_all(open_page(member), pages_of_a_defect(defect)) == []


def test_pages_of_a_record(open_page: OpenPage, full_book: Car, coordinator: Member) -> None:
    keeper = full_book.keeper
    told_at = full_book.history.first().history_date
    for number in range(30):
        ActFactory(concerns=keeper, by=coordinator, now=f"2025-01-{number + 1:02}", told_at=told_at)
    ActFactory(concerns=keeper, by=keeper, mail=None, kind="sign_in", field="signed_in", about="", now="On a computer")
    record = reverse("instructors:record")
    assert faults_of_all(open_page(keeper), [record, f"{record}?kind=car&page=2"]) == []


def test_pages_of_a_comparison(open_page: OpenPage, full_book: Car) -> None:
    comparison = pcp_and_rental(full_book.keeper)
    taken = comparison.offers.get(kind="weekly_rental")
    taken.car, taken.chosen_on = full_book, full_book.in_service_from
    taken.save()
    OfferFactory(comparison=comparison, name="Estate car begun yesterday", terms={})
    assert faults_of_all(open_page(full_book.keeper), pages_of_a_comparison(comparison)) == []


def test_pages_of_a_comparison_just_started(open_page: OpenPage, member: Member) -> None:
    page = open_page(member)
    page.goto(reverse("costing:comparison-list"))
    page.get_by_role("button", name="Start").tap()
    expect(page.get_by_role("heading", name="How the car will be used")).to_be_visible()
    comparison = Comparison.objects.get()
    assert faults_of_all(page, pages_of_a_comparison(comparison)) == []


@pytest.mark.parametrize("kind", AGREEMENT_KINDS)
def test_the_page_of_an_offer_with_all_its_folds_open(open_page: OpenPage, full_book: Car, kind: str) -> None:
    comparison = pcp_and_rental(full_book.keeper)
    page = open_page(full_book.keeper)
    address = f"{reverse('costing:offer-add', args=[comparison.pk])}?kind={kind}"
    page.goto(address)
    page.evaluate("for (const fold of document.querySelectorAll('details')) fold.open = true")
    page.locator("textarea").fill("36 monthly payments of £189.00, deposit £500, total deposit £900")
    page.get_by_role("button", name="Find its figures").tap()
    page.locator("[role=status]", has_text="found").wait_for()
    page.evaluate("for (const fold of document.querySelectorAll('details')) fold.open = true")
    assert faults_now(page, address) == []


def test_what_is_typed_before_the_proposal_for_a_fuel_arrives_stays(open_page: OpenPage, full_book: Car) -> None:
    """On a slow signal the answer comes when one types already in the rows that it replaces."""
    comparison = pcp_and_rental(full_book.keeper)
    page = open_page(full_book.keeper)
    on_its_way: list[Route] = []

    def hold(route: Route) -> None:
        on_its_way.append(route)

    page.route(re.compile(r"\?running$"), hold)
    page.goto(f"{reverse('costing:offer-add', args=[comparison.pk])}?kind=pcp")
    page.evaluate("for (const fold of document.querySelectorAll('details')) fold.open = true")
    page.locator("[name=servicing_per_year]").fill("260")
    with page.expect_request(re.compile(r"\?running$")):
        page.get_by_label("Diesel", exact=True).check()
    page.locator("[name=repairs_per_year]").fill("415")
    page.locator("[name=servicing_per_year]").fill("2")
    on_its_way[0].continue_()
    expect(page.locator("[name=proposed_for]")).to_have_value("diesel")
    expect(page.locator("[name=repairs_per_year]")).to_have_value("415")
    expect(page.locator("[name=servicing_per_year]")).to_have_value("2")
    expect(page.locator("[name=servicing_per_year]")).to_be_focused()


def test_an_offer_keeps_what_was_typed_when_its_kind_changes_and_enter_saves_it(
    open_page: OpenPage, full_book: Car
) -> None:
    comparison = pcp_and_rental(full_book.keeper)
    page = open_page(full_book.keeper)
    page.goto(f"{reverse('costing:offer-add', args=[comparison.pk])}?kind=pcp")
    page.locator("[name=price]").fill("12,640")
    page.locator("[name=payment]").fill("214.37")
    page.get_by_role("button", name="Weekly rental").tap()
    expect(page.locator("[name=price][type=hidden]")).to_have_value("12,640")
    expect(page.locator("[name=payment]")).to_have_value("214.37")
    page.get_by_role("button", name="PCP").tap()
    expect(page.locator("[name=price]:not([type=hidden])")).to_have_value("12,640")
    page.locator("[name=name]").fill("Sent by Enter")
    page.locator("[name=name]").press("Enter")
    page.locator(".said", has_text="Saved.").wait_for()
    assert comparison.offers.get(name="Sent by Enter").terms["price"] == "12640.00"


def test_the_fuel_of_a_car_brings_what_is_known_of_running_one(open_page: OpenPage, full_book: Car) -> None:
    comparison = pcp_and_rental(full_book.keeper)
    page = open_page(full_book.keeper)
    page.goto(f"{reverse('costing:offer-add', args=[comparison.pk])}?kind=owned")
    page.locator("main label", has_text="Petrol").first.tap()
    expect(page.locator("#running [name=mot]")).to_have_value("54.85")
    expect(page.locator("#running [name=miles_per_kwh]")).to_have_count(0)


def test_pages_that_say_what_was_done(open_page: OpenPage, full_book: Car) -> None:
    page, comparison = open_page(full_book.keeper), pcp_and_rental(full_book.keeper)
    pcp, defect = comparison.offers.get(kind="pcp"), DefectFactory(car=full_book)
    for name, *args, button in (
        ("fleet:defect-take-in-hand", defect.pk, "Save"),
        ("costing:comparison-use", comparison.pk, "Save and go on"),
        ("costing:offer-terms", pcp.pk, "Save this offer"),
        ("costing:comparison-ranges", comparison.pk, "Save these ranges"),
        ("costing:offer-remove", pcp.pk, "Remove it"),
        ("costing:comparison-remove", comparison.pk, "Remove it"),
    ):
        address = reverse(name, args=args)
        page.goto(address)
        page.get_by_role("button", name=button).tap()
        page.locator(".said").first.wait_for()
        assert faults_now(page, address) == []


@pytest.mark.parametrize("name", ["fill-log", "cost-log", "teaching-log"])
def test_a_form_sent_with_faults(open_page: OpenPage, full_book: Car, name: str) -> None:
    page = open_page(full_book.keeper)
    page.goto(reverse(f"costing:{name}"))
    page.locator("[data-log] [inputmode]:visible").first.fill("thirty")
    page.locator("main .key[type=submit]").first.click()
    page.locator(".ask.wrong").first.wait_for()
    assert page.evaluate("() => Boolean(document.activeElement.closest('.row, li').querySelector('.ask.wrong'))")
    assert [violation["id"] for violation in Axe().run(page).response["violations"]] == []
    assert page.evaluate(SMALL_TARGETS) == []


def test_a_wide_screen(open_page: OpenPage, full_book: Car) -> None:
    page = open_page(full_book.keeper, width=1280, height=900)
    for address in (reverse("costing:home"), reverse("costing:statement")):
        page.goto(address)
        assert page.evaluate(WIDER_THAN_THE_SCREEN) == 0
        assert [violation["id"] for violation in Axe().run(page).response["violations"]] == []


def test_no_page_breaks_its_own_security_policy(open_page: OpenPage, full_book: Car, coordinator: Member) -> None:
    page = open_page(full_book.keeper)
    said: list[str] = []
    page.on("console", lambda message: said.append(message.text) if message.type == "error" else None)
    page.on("pageerror", lambda error: said.append(str(error)))
    for address in pages_for(signed_in(full_book.keeper), one_of_each(full_book, coordinator)):
        page.goto(address)
    assert said == []
