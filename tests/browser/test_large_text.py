"""The pages of money as a reader has them whose phone is small and whose letters are twice as large."""

import pytest
from django.urls import reverse
from playwright.sync_api import Page

from fleet.models import Car
from instructors.models import Member
from tests.browser.conftest import OpenPage
from tests.browser.test_every_page import LARGE_TEXT

PAGES = [reverse(f"costing:{name}") for name in ("home", "statement", "pot", "charge", "odd-list", "group")]

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
