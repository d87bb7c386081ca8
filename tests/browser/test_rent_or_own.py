"""“Rent or your own?” on a phone, by somebody without an account who has two quotes in hand."""

import re

import pytest
from playwright.sync_api import Page, expect

from instructors.models import Member
from tests.browser.conftest import PASSWORD, PHONE, OpenPage
from tests.browser.test_every_page import faults_now

ADDRESS = "/rent-or-own/"
#: The usual constants: seconds for a tap, and for a field that one types into.
TAP, FIELD, MOST = 2.5, 4, 60
NINE = {
    "rent": "168",
    "price": "9,000",
    "deposit": "1,900",
    "payment": "218",
    "payments": "36",
    "final_payment": "0",
    "value_at_horizon": "4000",
    "months": "36",
    "miles_per_year": "20000",
}

pytestmark = pytest.mark.django_db(transaction=True)


def finding(page: Page) -> str:
    """The answer in the large letters."""
    return " ".join(page.locator("h2.verdict").inner_text().split())


def height(page: Page) -> int:
    return int(page.evaluate("document.documentElement.scrollHeight"))


def test_two_quotes_are_answered_within_a_minute_on_two_screens(open_page: OpenPage) -> None:
    page, seconds = open_page(), 0.0
    page.goto(ADDRESS)
    assert len(page.locator(".close input[inputmode]").all()) == 9
    for name, typed in NINE.items():
        page.fill(f"[name={name}]", typed)
        seconds += TAP + FIELD
        assert height(page) <= 2 * PHONE["height"]
    # The answer is there without a key, as soon as the last figure is typed.
    expect(page.locator("h2.verdict")).to_contain_text("Your own car is cheaper as long as all the rest stays below £")
    assert seconds <= MOST
    assert height(page) <= 2 * PHONE["height"]


def test_a_nought_too_many_is_asked_about_and_a_tick_ends_it(open_page: OpenPage) -> None:
    page = open_page()
    page.goto(ADDRESS)
    for name, typed in {**NINE, "rent": "1680"}.items():
        page.fill(f"[name={name}]", typed)
    expect(page.locator(".note")).to_have_text("Look again at rent.")
    page.get_by_label("It is right").check()
    expect(page.locator(".note")).to_have_count(0)
    expect(page.get_by_label("It is right")).to_be_checked()
    expect(page.get_by_label("It is right")).to_be_focused()
    assert faults_now(page, ADDRESS) == []


def test_an_answer_that_opens_above_leaves_the_field_one_types_in_where_it_is(open_page: OpenPage) -> None:
    page = open_page()
    page.goto(ADDRESS)
    page.fill("[name=rent]", "168")
    page.fill("[name=payment]", "218")
    field = page.locator("[name=payments]")
    expect(page.locator("h2.verdict")).to_have_text("Next: for how many months you pay.")
    field.focus()
    before = field.bounding_box()
    field.press_sequentially("36", delay=100)
    expect(page.locator("h2.verdict")).to_contain_text("Your own car is cheaper")
    after = field.bounding_box()
    assert before
    assert after
    assert abs(after["y"] - before["y"]) <= 2


def test_the_nine_figures_stand_on_one_screen(open_page: OpenPage) -> None:
    page = open_page()
    page.goto(ADDRESS)
    slip = page.locator(".slip.close").bounding_box()
    assert slip
    assert slip["height"] <= PHONE["height"]


def test_each_further_figure_narrows_the_answer_at_once(open_page: OpenPage) -> None:
    page = open_page()
    page.goto(ADDRESS)
    for name in ("rent", "deposit", "payment", "payments"):
        page.fill(f"[name={name}]", NINE[name])
    expect(page.locator("h2.verdict")).to_contain_text("£457 a month")
    page.get_by_text("Type more").click()
    page.fill("[name=insurance]", "900")
    expect(page.locator("h2.verdict")).to_contain_text("£382 a month")
    page.get_by_text("The rent covers all but fuel").click()
    page.get_by_label("Insurance for tuition").uncheck()
    expect(page.locator("#covers")).to_have_text("The rent covers all but insurance and fuel")
    expect(page.locator("h2.verdict")).to_contain_text("£457 a month")
    assert page.locator("[name=insurance]").input_value() == "900"


def test_what_is_wrong_opens_beside_its_field_while_one_types_on(open_page: OpenPage) -> None:
    page = open_page()
    page.goto(ADDRESS)
    page.fill("[name=rent]", "1e999")
    page.locator("[name=price]").focus()
    expect(page.locator("#id_rent_error")).to_be_visible()
    assert page.evaluate("document.activeElement.name") == "price"
    page.fill("[name=rent]", "168")
    expect(page.locator("#id_rent_error")).to_have_count(0)
    for name in ("payment", "payments"):
        page.fill(f"[name={name}]", NINE[name])
    page.fill("[name=months]", "24")
    expect(page.locator("#id_price_words")).to_contain_text("Without the cash price nobody can tell")


def test_it_works_without_script(open_page: OpenPage) -> None:
    page = open_page(script=False)
    page.goto(ADDRESS)
    for name in ("rent", "deposit", "payment", "payments", "final_payment"):
        page.fill(f"[name={name}]", NINE[name])
    page.get_by_role("button", name="Work it out").click()
    assert re.search("below £457 a month", finding(page))
    assert page.url.endswith(ADDRESS)
    assert page.locator("[name=deposit]").input_value() == "1,900"


ASKED = {"rent": "168", "payment": "218", "payments": "36", "months": "24"}


@pytest.mark.parametrize("typed", [{}, {**NINE, "insurance": "900"}, ASKED, {**NINE, "rent": "1e999", "price": "-4"}])
def test_nothing_is_in_anybodys_way(open_page: OpenPage, typed: dict[str, str]) -> None:
    page = open_page()
    said: list[str] = []
    page.on("console", lambda message: said.append(message.text) if message.type == "error" else None)
    page.goto(ADDRESS)
    for fold in page.locator("form summary").all():
        fold.click()
    for name, figure in typed.items():
        page.fill(f"[name={name}]", figure)
    page.wait_for_timeout(1_500)
    assert faults_now(page, ADDRESS) == []
    assert said == []


def test_from_two_quotes_through_sign_in_to_a_comparison(open_page: OpenPage, member: Member) -> None:
    page = open_page()
    page.goto("/account/login/")
    page.get_by_role("link", name="Rent or your own").click()
    for name, typed in NINE.items():
        page.fill(f"[name={name}]", typed)
    page.get_by_role("button", name="Sign in and keep it").click()
    # A credit is kept only once each sum that is paid once is told.
    page.fill("[name=fees]", "0")
    page.get_by_role("button", name="Sign in and keep it").click()
    page.fill("[name=login]", member.email)
    page.fill("[name=password]", PASSWORD)
    page.get_by_role("button", name="Sign in", exact=True).click()
    expect(page.locator("h1")).to_have_text("Keep what you typed")
    assert faults_now(page, "/rent-or-own/keep/") == []
    page.get_by_role("button", name="Keep it").click()
    page.wait_for_url("**/next-car/*/")
    expect(page.locator("main")).to_contain_text("Your own car")
