"""Every page in a real browser, empty and full: for everybody's eyes, hands and phones (WCAG 2.2 AA)."""

import re
from collections.abc import Iterator

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from playwright.sync_api import Page, expect

from costing.models import Comparison, CostEntry, Fill, TeachingRecord
from fleet.models import Car, Defect, DueItem
from instructors.models import Member
from tests.browser.conftest import OpenPage
from tests.costing.offered import pcp_and_rental
from tests.factories import ActFactory, CompletionFactory, DefectFactory, DefectStepFactory, OfferFactory
from tests.mailserver import MailServer

#: Everything that is pressed or typed in, but for links in running text; of a tick box, its whole label.
SMALL_TARGETS = """() => [..."a, button, select, textarea, summary, input:not([type=hidden])".split(", ")]
  .flatMap((selector) => [...document.querySelectorAll(selector)])
  .map((element) => element.matches("[type=checkbox], [type=radio]") ? element.closest("label") : element)
  .filter((element) => element.checkVisibility({visibilityProperty: true}) && !element.matches(".skip"))
  .filter((element) => !(element.matches("a") && getComputedStyle(element).display === "inline"))
  .map((element) => [element.outerHTML.slice(0, 90), element.getBoundingClientRect()])
  .filter(([, box]) => box.width < 44 || box.height < 44)
  .map(([html, box]) => `${html} ${box.width}x${box.height}`)"""

WIDER_THAN_THE_SCREEN = "() => document.documentElement.scrollWidth - document.documentElement.clientWidth"


def pages_of_an_empty_book() -> Iterator[str]:
    """What a member without a car can open."""
    for name in (
        *("home", "fill-log", "cost-log", "teaching-log", "entries", "group"),
        *("comparison-list", "comparison-upload"),
    ):
        yield reverse(f"costing:{name}")
    for name in ("car-list", "car-add", "month", "profile", "credential-add", "calendar-feeds", "reminder-choices"):
        yield reverse(f"fleet:{name}")
    yield reverse("instructors:record")
    for name in (
        *("account_change_password", "account_logout", "account_reauthenticate"),
        *("mfa_index", "mfa_activate_totp", "mfa_add_webauthn", "mfa_list_webauthn"),
    ):
        yield reverse(name)
    for name in ("session-list", "email-change", "sign-in-again"):
        yield reverse(f"instructors:{name}")
    yield "/nowhere/"


def pages_of_a_car(car: Car) -> Iterator[str]:
    """What the keeper of ``car`` can open besides."""
    mark = car.registration
    for name in ("car-cost", "agreement-add", "valuation-add"):
        yield reverse(f"costing:{name}", args=[mark])
    agreement, valuation = car.agreement_set.get(), car.valuation_set.get()
    yield reverse("costing:agreement-correct", args=[mark, agreement.pk])
    yield reverse("costing:valuation-correct", args=[mark, valuation.pk])
    yield f"{reverse('costing:entries')}?voided=1"
    for kind, model in {"fill": Fill, "cost": CostEntry, "lessons": TeachingRecord}.items():
        yield reverse("costing:entry-correct", args=[kind, model.objects.first().pk])
    yield reverse("costing:entry-void", args=["fill", Fill.objects.first().pk])
    for name in (
        *("car", "due-item-add", "odometer-add", "mot-findings", "check-record", "check-list", "defect-report"),
        *("car-correct", "car-service"),
        *("tread", "tread-add", "tyres-replaced", "tyres-rotated", "ready"),
    ):
        yield reverse(f"fleet:{name}", args=[mark])
    yield from pages_of_readings(car)
    item = DueItem.objects.get(car=car, kind="mot")
    for name in ("due-item-correct", "due-item-complete", "due-item-book", "mot-fail"):
        yield reverse(f"fleet:{name}", args=[item.pk])


def page_of_a_completion(car: Car) -> str:
    """Where something that was done is put right."""
    completion = CompletionFactory(due_item=DueItem.objects.get(car=car, kind="mot"))
    return reverse("fleet:completion-correct", args=[completion.pk])


def pages_of_readings(car: Car) -> Iterator[str]:
    """The list of what was written down of its odometer, and one reading put right or removed."""
    yield reverse("fleet:readings", args=[car.registration])
    for name in ("reading-correct", "reading-remove"):
        yield reverse(f"fleet:{name}", args=[car.registration, car.odometer_readings.first().pk])


def pages_of_a_defect(defect: Defect) -> Iterator[str]:
    """What can be said of a defect as it stands."""
    steps = ("reopen",) if defect.state == "closed" else ("close", "judge", "take-in-hand")
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
        for step in ("car", "money", "end", "included"):
            yield reverse("costing:offer-terms", args=[offer.pk, step])
        for name in ("offer-take", "offer-outcome", "offer-remove"):
            yield reverse(f"costing:{name}", args=[offer.pk])


def pages_of_a_coordinator(car: Car) -> Iterator[str]:
    """What a coordinator can open besides."""
    for name in ("car-list", "car-add", "reminder-log", "check-points", "check-point-add"):
        yield reverse(f"fleet:{name}")
    for name in ("car", "car-keeper", "car-correct", "car-service"):
        yield reverse(f"fleet:{name}", args=[car.registration])
    yield from pages_of_readings(car)
    for name in ("people", "invite", "settings"):
        yield reverse(f"instructors:{name}")
    for name in ("member-change", "member-leave"):
        yield reverse(f"instructors:{name}", args=[car.keeper.pk])


def pages_before_signing_in() -> Iterator[str]:
    """What anybody can open."""
    for name in (
        "login",
        "request_login_code",
        "reset_password",
        "reset_password_done",
        "signup",
        "inactive",
    ):
        yield reverse(f"account_{name}")
    yield reverse("account_reset_password_from_key", args=["1", "none"])
    yield reverse("instructors:accept-invitation", args=["no-such-token"])


def faults_of(page: Page, address: str) -> list[str]:
    """All that is wrong with the page at an address, at 390 and at 320 pixels."""
    page.goto(address)
    return faults_now(page, address)


def faults_now(page: Page, address: str) -> list[str]:
    """The same of the page as it stands, come to by way of ``address``."""
    found = [f"{address}: {target}" for target in page.evaluate(SMALL_TARGETS)]
    for violation in Axe().run(page).response["violations"]:
        found += [f"{address}: {violation['id']}: {node['html'][:160]}" for node in violation["nodes"]]
    for width in (390, 320):
        page.set_viewport_size({"width": width, "height": 844})
        if (over := page.evaluate(WIDER_THAN_THE_SCREEN)) > 0:
            found.append(f"{address}: {over} pixels too wide at {width}")
    page.set_viewport_size({"width": 390, "height": 844})
    return found


def faults_of_all(page: Page, addresses: Iterator[str]) -> list[str]:
    return [fault for address in addresses for fault in faults_of(page, address)]


def test_pages_before_signing_in(open_page: OpenPage, transactional_db: None) -> None:
    assert faults_of_all(open_page(), pages_before_signing_in()) == []


def test_pages_of_an_empty_book(open_page: OpenPage, member: Member) -> None:
    assert faults_of_all(open_page(member), pages_of_an_empty_book()) == []


def test_pages_of_a_full_book(open_page: OpenPage, full_book: Car) -> None:
    page = open_page(full_book.keeper)
    assert faults_of_all(page, pages_of_an_empty_book()) == []
    assert faults_of_all(page, pages_of_a_car(full_book)) == []
    assert faults_of(page, page_of_a_completion(full_book)) == []


def test_pages_of_a_coordinator(open_page: OpenPage, full_book: Car, coordinator: Member) -> None:
    assert faults_of_all(open_page(coordinator), pages_of_a_coordinator(full_book)) == []


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
    found = DefectFactory(car=full_book, severity="dangerous", words="Brake pedal goes to the floor")
    mended = DefectFactory(car=full_book, words="Bulb of the left indicator", state="closed", closed_on=found.found_on)
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
    assert faults_of_all(open_page(keeper), iter([record, f"{record}?kind=car&page=2"])) == []


def test_pages_of_a_comparison(open_page: OpenPage, full_book: Car) -> None:
    comparison = pcp_and_rental(full_book.keeper)
    taken = comparison.offers.get(kind="weekly_rental")
    taken.car, taken.chosen_on = full_book, full_book.in_service_from
    taken.save()
    OfferFactory(comparison=comparison, name="Estate car begun yesterday", terms={}, is_complete=False)
    assert faults_of_all(open_page(full_book.keeper), pages_of_a_comparison(comparison)) == []


def test_pages_of_a_comparison_just_started(open_page: OpenPage, member: Member) -> None:
    page = open_page(member)
    page.goto(reverse("costing:comparison-list"))
    page.get_by_role("button", name="Start").tap()
    expect(page.get_by_role("heading", name="How the car will be used")).to_be_visible()
    comparison = Comparison.objects.get()
    assert faults_of_all(page, pages_of_a_comparison(comparison)) == []


def test_pages_that_say_what_was_done(open_page: OpenPage, full_book: Car) -> None:
    page, comparison = open_page(full_book.keeper), pcp_and_rental(full_book.keeper)
    pcp, defect = comparison.offers.get(kind="pcp"), DefectFactory(car=full_book)
    for name, *args, button in (
        ("fleet:defect-take-in-hand", defect.pk, "Save"),
        ("costing:comparison-use", comparison.pk, "Save and go on"),
        ("costing:offer-terms", pcp.pk, "end", "Save and go on"),
        ("costing:offer-terms", pcp.pk, "included", "Save and compare"),
        ("costing:comparison-ranges", comparison.pk, "Keep these ranges"),
        ("costing:offer-remove", pcp.pk, "Remove it"),
        ("costing:comparison-remove", comparison.pk, "Remove it"),
    ):
        address = reverse(name, args=args)
        page.goto(address)
        page.get_by_role("button", name=button).tap()
        page.locator(".notices").first.wait_for()
        assert faults_now(page, address) == []


@pytest.mark.parametrize("name", ["fill-log", "cost-log", "teaching-log"])
def test_a_form_sent_with_faults(open_page: OpenPage, full_book: Car, name: str) -> None:
    page = open_page(full_book.keeper)
    page.goto(reverse(f"costing:{name}"))
    page.locator("main button[type=submit]").click()
    page.locator(".errors").wait_for()
    assert page.locator(".errors").evaluate("element => element === document.activeElement")
    assert [violation["id"] for violation in Axe().run(page).response["violations"]] == []
    assert page.evaluate(SMALL_TARGETS) == []


def test_the_menu_that_is_opened(open_page: OpenPage, full_book: Car) -> None:
    page = open_page(full_book.keeper)
    page.goto(reverse("costing:home"))
    page.get_by_text("More", exact=True).click()
    assert page.get_by_role("link", name="Download my records").is_visible()
    assert [violation["id"] for violation in Axe().run(page).response["violations"]] == []
    assert page.evaluate(SMALL_TARGETS) == []
    page.keyboard.press("Escape")
    assert not page.get_by_role("link", name="Download my records").is_visible()


def test_a_wide_screen(open_page: OpenPage, full_book: Car) -> None:
    page = open_page(full_book.keeper, width=1280, height=900)
    for address in (reverse("costing:home"), reverse("costing:car-cost", args=[full_book.registration])):
        page.goto(address)
        assert page.evaluate(WIDER_THAN_THE_SCREEN) == 0
        assert [violation["id"] for violation in Axe().run(page).response["violations"]] == []


def test_no_page_breaks_its_own_security_policy(open_page: OpenPage, full_book: Car) -> None:
    page = open_page(full_book.keeper)
    said: list[str] = []
    page.on("console", lambda message: said.append(message.text) if message.type == "error" else None)
    page.on("pageerror", lambda error: said.append(str(error)))
    for address in [*pages_of_an_empty_book(), *pages_of_a_car(full_book)]:
        if address != "/nowhere/":
            page.goto(address)
    assert said == []
