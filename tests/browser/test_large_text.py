"""The pages of money as a reader has them whose phone is small and whose letters are twice as large."""

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from fleet.models import Car
from instructors.models import Member
from tests.browser.conftest import OpenPage
from tests.browser.test_every_page import LARGE_TEXT, WIDER_THAN_THE_SCREEN
from tests.costing.offered import pcp_and_rental
from tests.factories import GroupFigureFactory

PAGES = [
    reverse(f"costing:{name}")
    for name in ("home", "statement", "pot", "charge", "takings", "pot-plan", "pot-bill-add", "odd-list", "group")
]
#: What is typed into a form of the wing, and shown whole: the longest figures, days and choices that it has.
TYPED = {
    reverse("costing:charge"): {"lesson_hour_price": "138.50", "hours_a_week": "27.25", "wanted": "72000"},
    reverse("costing:takings"): {"amount": "1320.50", "cancelled_minutes": "10.25"},
    reverse("costing:pot-plan"): {"balance": "12345.60", "weekly": "120.50", "off_1_from": "2027-11-30"},
    reverse("costing:pot-bill-add"): {"kind": "adi_registration", "amount": "12345.60", "due_on": "2027-11-30"},
}
#: Fields of which a part is cut off: what is typed is wider than its box, or what a choice says.
CUT = r"""() => {
  const pen = document.createElement("canvas").getContext("2d"), found = [];
  for (const field of document.querySelectorAll("main .slip :is(input, select):not([type=checkbox], [type=radio])")) {
    const look = getComputedStyle(field), isDay = field.type === "date";
    // What a choice says may stand in several lines.
    const chosen = field.selectedOptions?.[0].text.split(" ").sort((one, other) => other.length - one.length)[0];
    const inside = field.clientWidth - parseFloat(look.paddingLeft) - parseFloat(look.paddingRight);
    pen.font = look.font;
    // The calendar’s sign, and the arrow of a choice, take room of their own.
    const needed = pen.measureText(isDay ? "30/11/2027" : chosen ?? field.value).width + (isDay ? 24 : chosen ? 16 : 0);
    if (field.scrollWidth > field.clientWidth || needed > inside) found.push(`${field.name}: ${needed} in ${inside}`);
  }
  return found;
}"""

#: Words, as spaces and hyphens part them, that stand in more than one line.
BROKEN = r"""() => {
  const found = [], walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const text = walker.currentNode, range = document.createRange();
    if (!text.parentElement.checkVisibility() || text.parentElement.closest(".sr, .skip, svg, option")) continue;
    for (const word of text.data.matchAll(/[^\s-]+/g)) {
      range.setStart(text, word.index);
      range.setEnd(text, word.index + word[0].length);
      const boxes = [...range.getClientRects()].filter((box) => box.width > 1);
      if (boxes.some((box) => box.top > boxes[0].bottom - 2)) found.push(word[0]);
    }
  }
  return found;
}"""


def broken_in(page: Page, address: str) -> list[str]:
    page.goto(address)
    page.set_viewport_size({"width": 320, "height": 640})
    page.evaluate(LARGE_TEXT, "200%")
    page.evaluate("for (const fold of document.querySelectorAll('details')) fold.open = true")
    found: list[str] = page.evaluate(BROKEN)
    return [f"{address}: {word}" for word in found]


@pytest.mark.parametrize("address", PAGES)
def test_no_word_breaks_in_a_full_book(open_page: OpenPage, full_book: Car, address: str) -> None:
    assert broken_in(open_page(full_book.keeper, worker=False), address) == []


@pytest.mark.parametrize("address", PAGES)
def test_no_word_breaks_in_an_empty_book(open_page: OpenPage, member: Member, address: str) -> None:
    assert broken_in(open_page(member, worker=False), address) == []


@pytest.mark.parametrize("address", TYPED)
def test_no_field_cuts_what_is_typed(open_page: OpenPage, full_book: Car, address: str) -> None:
    page = open_page(full_book.keeper, worker=False)
    page.goto(address)
    page.set_viewport_size({"width": 320, "height": 640})
    page.evaluate(LARGE_TEXT, "200%")
    page.evaluate("for (const fold of document.querySelectorAll('details')) fold.open = true")
    for name, value in TYPED[address].items():
        field = page.locator(f"main [name={name}]")
        field.select_option(value) if name == "kind" else field.fill(value)
    assert page.evaluate(CUT) == []


#: Of each drawing that is shown: its words in hundredths of a page's letters, and whether what is around it scrolls.
WORDS_DRAWN = """() => [...document.querySelectorAll(".chart:has(text)")]
  .filter((one) => one.checkVisibility())
  .map((one) => {
    const scale = one.getBoundingClientRect().width / one.viewBox.baseVal.width;
    const size = scale * parseFloat(one.getAttribute("font-size"));
    const letters = parseFloat(getComputedStyle(document.documentElement).fontSize);
    return [Math.round((100 * size) / letters), one.parentElement.scrollWidth > one.parentElement.clientWidth];
  })"""


@pytest.mark.parametrize("width", [320, 390])
@pytest.mark.parametrize("name", ["home", "statement", "pot", "group"])
def test_the_words_of_a_drawing_grow_with_the_reader_s(
    open_page: OpenPage, full_book: Car, name: str, width: int
) -> None:
    page = open_page(full_book.keeper, worker=False)
    page.goto(reverse(f"costing:{name}"))
    page.set_viewport_size({"width": width, "height": 640})
    usual = page.evaluate(WORDS_DRAWN)
    assert usual
    assert not any(scrolls for _, scrolls in usual)
    page.evaluate(LARGE_TEXT, "200%")
    large = page.evaluate(WORDS_DRAWN)
    assert all(now >= was for (now, _), (was, _) in zip(large, usual, strict=True))
    # What is wider than the screen is scrolled by the keyboard too, and the page itself is not.
    assert page.locator(".drawn:visible[tabindex='0']").count() == len(large)
    assert page.evaluate(WIDER_THAN_THE_SCREEN) <= 0


@pytest.mark.parametrize("script", [True, False])
def test_what_is_asked_is_said_at_the_top_and_has_the_focus(open_page: OpenPage, member: Member, script: bool) -> None:
    page = open_page(member, worker=False, script=script)
    page.goto(reverse("costing:pot-plan"))
    page.fill("[name=balance]", "420000")
    page.click("main form.stack .keys button")
    said = page.get_by_role("alert")
    expect(said).to_contain_text("Not saved yet")
    expect(said).to_be_focused()
    assert said.bounding_box()["y"] < 844


@pytest.mark.parametrize("script", [True, False])
@pytest.mark.parametrize("first", ["", "2026-01-01"])
def test_what_a_comparison_lacks_is_said_in_sight(
    open_page: OpenPage, full_book: Car, script: bool, first: str
) -> None:
    page = open_page(full_book.keeper, worker=False, script=script, height=500)
    page.goto(reverse("costing:statement"))
    page.get_by_text("Compare with another time").click()
    page.fill("[name=than_first]", first)
    said = page.get_by_role("alert")
    # Pressed once more, it is said once more.
    for _ in range(2):
        page.get_by_role("button", name="Compare").click()
        expect(said).to_contain_text("Not compared yet")
        expect(said).to_contain_text("To: Give a day.")
        expect(said).to_be_focused()
        expect(said).to_be_in_viewport()
    lacking = [name for name in ("than_first", "than_last") if page.locator(f"[name={name}][aria-invalid]").count()]
    assert lacking == (["than_last"] if first else ["than_first", "than_last"])
    assert page.input_value("[name=than_first]") == first


@pytest.mark.parametrize("script", [True, False])
def test_what_another_month_of_a_comparison_lacks_is_said_in_sight(
    open_page: OpenPage, member: Member, script: bool
) -> None:
    page = open_page(member, worker=False, script=script, height=500)
    page.goto(reverse("costing:comparison", args=[pcp_and_rental(member).pk]))
    page.get_by_text("Another month, or other weeks").click()
    said = page.get_by_role("alert")
    # Pressed once more, it is said once more.
    for _ in range(2):
        page.fill("[name=leave]", "0")
        page.get_by_role("button", name="Work it out").click()
        expect(said).to_contain_text("Not worked out yet")
        expect(said).to_be_focused()
        expect(said).to_be_in_viewport()


def test_the_group_s_figures_are_in_sight_of_an_empty_book(open_page: OpenPage, member: Member) -> None:
    for span in ("month", "year"):
        GroupFigureFactory(span=span)
    page = open_page(member, worker=False)
    page.goto(reverse("costing:group"))
    page.set_viewport_size({"width": 320, "height": 640})
    page.evaluate(LARGE_TEXT, "200%")
    beyond = page.evaluate("[...document.querySelectorAll('.scroll')].map((one) => one.scrollWidth - one.clientWidth)")
    assert beyond == [0, 0]
