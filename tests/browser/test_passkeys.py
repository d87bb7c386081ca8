"""A passkey in a real browser, whose finger is a made-up one: set up, signed in with, shown again, taken off."""

from typing import Any

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from instructors.models import Member
from tests.browser.conftest import PASSWORD, OpenPage


@pytest.fixture
def page_with_finger(open_page: OpenPage, member: Member) -> Page:
    """A phone that can keep passkeys, and on which nobody is signed in."""
    page = open_page()
    devtools = page.context.new_cdp_session(page)
    devtools.send("WebAuthn.enable")
    options = {
        "protocol": "ctap2",
        "transport": "internal",
        "hasResidentKey": True,
        "hasUserVerification": True,
        "isUserVerified": True,
        "automaticPresenceSimulation": True,
    }
    devtools.send("WebAuthn.addVirtualAuthenticator", {"options": options})
    return page


def sign_in_by_password(page: Page, member: Member) -> None:
    page.goto(reverse("account_login"))
    page.get_by_label("E-mail address").fill(member.email)
    page.get_by_label("Password", exact=True).fill(PASSWORD)
    page.get_by_role("button", name="Sign in", exact=True).tap()
    page.get_by_role("heading", name="You have no car in the book").wait_for()


def add_passkey(page: Page) -> None:
    page.goto(reverse("mfa_add_webauthn"))
    page.get_by_label("A name for it").fill("Phone in the blue case")
    page.get_by_role("button", name="Make the passkey").tap()
    expect(page.get_by_role("heading", name="My recovery codes")).to_be_visible()


def sign_out(page: Page) -> None:
    page.goto(reverse("account_logout"))
    page.locator("main").get_by_role("button", name="Sign out").tap()
    expect(page.get_by_role("heading", name="Sign in", exact=True)).to_be_visible()


def errors_of(page: Page) -> list[str]:
    """What the browser will complain of from now on: a broken security policy among it."""
    said: list[str] = []
    page.on("console", lambda message: said.append(message.text) if message.type == "error" else None)
    page.on("pageerror", lambda error: said.append(str(error)))
    return said


def test_a_passkey_signs_in_by_itself(page_with_finger: Page, member: Member) -> None:
    page = page_with_finger
    said = errors_of(page)
    sign_in_by_password(page, member)
    add_passkey(page)
    page.goto(reverse("mfa_index"))
    expect(page.get_by_text("Phone in the blue case")).to_be_visible()
    page.goto(reverse("instructors:record"))
    expect(page.get_by_text("Passkey added")).to_be_visible()
    sign_out(page)
    page.get_by_role("button", name="Sign in with a passkey").tap()
    expect(page.get_by_role("heading", name="You have no car in the book")).to_be_visible()
    assert said == []


def test_after_a_password_it_is_the_second_step(page_with_finger: Page, member: Member) -> None:
    page = page_with_finger
    sign_in_by_password(page, member)
    add_passkey(page)
    sign_out(page)
    page.get_by_label("E-mail address").fill(member.email)
    page.get_by_label("Password", exact=True).fill(PASSWORD)
    page.get_by_role("button", name="Sign in", exact=True).tap()
    expect(page.get_by_role("heading", name="Second step")).to_be_visible()
    page.get_by_role("button", name="Use a passkey").tap()
    expect(page.get_by_role("heading", name="You have no car in the book")).to_be_visible()


def test_it_shows_that_it_is_still_them_and_can_be_renamed_and_taken_off(
    page_with_finger: Page, member: Member, settings: Any
) -> None:
    page = page_with_finger
    sign_in_by_password(page, member)
    add_passkey(page)
    page.goto(reverse("mfa_list_webauthn"))
    page.get_by_role("link", name="Phone in the blue case", exact=True).tap()
    page.get_by_label("Name").fill("Old phone")
    page.get_by_role("button", name="Save the name").tap()
    expect(page.get_by_role("heading", name="My passkeys")).to_be_visible()
    settings.ACCOUNT_REAUTHENTICATION_TIMEOUT = 0  # whoever signed in, did so long ago
    page.get_by_role("link", name="Remove Old phone").tap()
    page.get_by_role("link", name="Use a passkey").tap()
    settings.ACCOUNT_REAUTHENTICATION_TIMEOUT = 900
    page.get_by_role("button", name="Use a passkey").tap()
    expect(page.get_by_role("heading", name="Remove the passkey “Old phone”")).to_be_visible()
    page.get_by_role("button", name="Remove it").tap()
    expect(page.get_by_text("You have no passkeys yet.")).to_be_visible()
    sign_out(page)


def test_a_phone_without_one_is_told_so(open_page: OpenPage, member: Member) -> None:
    page = open_page()
    page.goto(reverse("account_login"))
    page.evaluate(
        "() => { navigator.credentials.get = () => Promise.reject(new DOMException('', 'NotAllowedError')); }"
    )
    page.get_by_role("button", name="Sign in with a passkey").tap()
    expect(page.get_by_text("The passkey did not work.")).to_be_visible()


def test_without_script_the_page_offers_what_works(open_page: OpenPage, member: Member) -> None:
    page = open_page(script=False)
    page.goto(reverse("account_login"))
    expect(page.get_by_role("button", name="Sign in with a passkey")).to_be_hidden()
