"""A table that fits has no edge; where there is more of one than its room shows, the edge is dark."""

from io import BytesIO

import pytest
from django.urls import reverse
from PIL import Image
from playwright.sync_api import Locator, Page

from instructors.models import Member
from tests.browser.conftest import OpenPage
from tests.factories import GroupFigureFactory

#: Pixels of a page below the top of a table's last row where nothing but the ground is: its line lies above, its words
#: below.
BELOW_LINE = 3


def ground_along(page: Page, table: Locator, density: int) -> list[tuple[int, ...]]:
    """The colours from the left end of a table's room to the right one, through the head of its last row."""
    table.scroll_into_view_if_needed()
    box, row = table.bounding_box(), table.locator("tr").last.bounding_box()
    assert box is not None
    assert row is not None
    picture = Image.open(BytesIO(page.screenshot())).convert("RGB")
    line = round((row["y"] + BELOW_LINE) * density)
    first, last = round(box["x"] * density), round((box["x"] + box["width"]) * density)
    return [picture.getpixel((place, line)) for place in range(first, last)]  # type: ignore[misc]


@pytest.mark.parametrize("width", [390, 360, 320, 1280])
@pytest.mark.parametrize("density", [1, 2, 3])
def test_only_a_table_that_goes_on_has_a_dark_edge(
    open_page: OpenPage, member: Member, density: int, width: int
) -> None:
    GroupFigureFactory(span="month")
    page = open_page(member, worker=False, density=density, width=width)
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        page.goto(reverse("costing:group"))
        table = page.locator(".scroll").first
        assert table.evaluate("one => one.scrollWidth - one.clientWidth") == 0
        assert len(set(ground_along(page, table, density))) == 1
        # The same table in less room than it needs: only the end that there is more behind is dark.
        table.evaluate(
            "one => { one.style.width = `${one.clientWidth}px`; one.firstElementChild.style.width = '130%'; }"
        )
        along = ground_along(page, table, density)
        ground = along[0]
        assert along[-1] != ground
        table.evaluate("one => one.scrollTo(one.scrollWidth, 0)")
        along = ground_along(page, table, density)
        assert along[0] != ground
        assert along[-1] == ground
