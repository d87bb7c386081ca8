"""The home page's first screen on a phone: what a newcomer says of it in five seconds."""

import re
from datetime import timedelta
from io import BytesIO

import pytest
from django.utils import timezone
from PIL import Image
from playwright.sync_api import Page

from fleet.models import Car, DueItem, OdometerReading
from instructors.models import Member
from tests.browser.conftest import PHONE, OpenPage
from tests.factories import CarFactory, DefectFactory, OdometerReadingFactory, TreadReadingFactory


def bottom_of(page: Page, selector: str) -> float:
    """How far down the window an element ends."""
    box = page.locator(selector).first.bounding_box()
    assert box is not None, selector
    return box["y"] + box["height"]


@pytest.mark.parametrize("size", [{}, {"width": 320}])
def test_verdict_gate_and_figure_lie_within_the_first_screen(
    open_page: OpenPage, full_book: Car, size: dict[str, int]
) -> None:
    DueItem.objects.filter(kind="mot").update(due_on=timezone.localdate() + timedelta(days=24))
    page = open_page(full_book.keeper, **size)
    page.goto("/")
    assert page.locator("h1").inner_text().startswith("Not known: vehicle tax.\nInsurance runs out in 12 days.")
    places = page.locator(".nav").bounding_box()
    assert places is not None
    ends = [bottom_of(page, selector) for selector in ("h1", ".gate", ".mirror .fig")]
    assert ends == sorted(ends)
    assert ends[-1] < places["y"] < PHONE["height"]
    # The figure, what it is of, and its picture's finding.
    assert re.fullmatch(r"£[\d.,]+", page.locator(".mirror .fig").inner_text())
    assert "a lesson hour" in page.locator(".mirror h2").inner_text()


def test_the_whole_mirror_and_the_road_lie_within_a_phones_first_screen(open_page: OpenPage, full_book: Car) -> None:
    DueItem.objects.filter(kind="mot").update(due_on=timezone.localdate() + timedelta(days=24))
    page = open_page(full_book.keeper)
    page.goto("/")
    places = page.locator(".nav").bounding_box()
    assert places is not None
    ends = [bottom_of(page, selector) for selector in ("h1", ".gate", ".mirror", ".ahead .lead", ".ahead .chart")]
    assert ends == sorted(ends)
    assert ends[-1] < places["y"]
    # What stands behind the picture comes last on a phone.
    behind = page.get_by_text("The same as a table").bounding_box()
    assert behind is not None
    assert behind["y"] > bottom_of(page, ".ahead")


def test_what_was_read_long_ago_pushes_nothing_off_the_first_screen(open_page: OpenPage, full_book: Car) -> None:
    today = timezone.localdate()
    DueItem.objects.filter(kind="mot").update(due_on=today + timedelta(days=24))
    TreadReadingFactory(car=full_book, read_on=today - timedelta(days=141))
    page = open_page(full_book.keeper)
    page.goto("/")
    asked, places = page.get_by_role("link", name="Tread read 141 days ago."), page.locator(".nav").bounding_box()
    box = asked.bounding_box()
    assert box is not None
    assert places is not None
    assert box["height"] < 50, "it takes more than one line"
    ends = [bottom_of(page, selector) for selector in ("h1", ".gate", ".mirror", ".ahead .lead", ".ahead .chart")]
    assert ends == sorted(ends)
    assert ends[-1] < places["y"]


def test_an_odometer_is_read_with_two_taps_and_one_figure(open_page: OpenPage, member: Member) -> None:
    today = timezone.localdate()
    car = CarFactory(keeper=member, registration="QA51ABC")
    OdometerReadingFactory(car=car, read_on=today - timedelta(days=41), miles=48_000)
    page = open_page(member)
    page.goto("/")
    page.get_by_role("link", name="Odometer read 41 days ago.").tap()
    page.wait_for_url("**/odometer/")
    page.keyboard.type("48100")
    page.get_by_role("button", name="Save the reading").tap()
    page.wait_for_url("**/cars/QA51ABC/")
    assert OdometerReading.objects.get(car=car, read_on=today).miles == 48_100


def test_each_sentence_and_each_knob_can_be_hit_with_a_thumb(open_page: OpenPage, full_book: Car) -> None:
    page = open_page(full_book.keeper)
    page.goto("/")
    for selector, count in ((".verdict a", 2), (".gate a", 4)):
        found = page.locator(selector).all()
        assert len(found) >= count
        for link in found:
            box = link.bounding_box()
            assert box is not None
            assert box["height"] >= 44, link.inner_text()
    page.locator(".gate a", has_text="Check").click()
    assert "/check/" in page.url


def test_a_car_off_the_road_is_the_first_thing_seen(open_page: OpenPage, full_book: Car, coordinator: Member) -> None:
    DefectFactory.create(car=full_book, severity="dangerous", description="Brake hose weeps")
    page = open_page(full_book.keeper)
    page.goto("/")
    assert page.locator("h1").inner_text().endswith("is off the road.")
    assert bottom_of(page, ".stop") < bottom_of(page, ".gate") < PHONE["height"]
    page.locator(".stop .key").first.click()
    assert "/defects/" in page.url
    page = open_page(coordinator)
    page.goto("/")
    assert "off the road" in page.locator("h1").inner_text()


def test_the_mirror_stands_beside_what_is_now_on_a_desk(open_page: OpenPage, full_book: Car) -> None:
    page = open_page(full_book.keeper, width=1280, height=900)
    page.goto("/")
    now, mirror, ahead = (page.locator(one).bounding_box() for one in (".gate", ".mirror", ".two .ahead"))
    assert now is not None
    assert mirror is not None
    assert ahead is not None
    assert mirror["x"] > now["x"] + now["width"]
    assert ahead["x"] < mirror["x"]
    # What stands behind the picture is right below it.
    behind = page.get_by_text("The same as a table").bounding_box()
    assert behind is not None
    assert 0 <= behind["y"] - bottom_of(page, ".mirror") < 40
    # What is to come follows the gate, however tall the mirror is.
    assert ahead["y"] - (now["y"] + now["height"]) < 100


def test_a_wide_table_shows_on_which_side_there_is_more_of_it(open_page: OpenPage, full_book: Car) -> None:
    page = open_page(full_book.keeper, width=320)
    page.goto("/")
    page.get_by_text("The same as a table").click()
    table = page.locator(".scroll").first
    table.evaluate("(one) => one.scrollIntoView({ block: 'center' })")

    def edges() -> tuple[bool, bool]:
        """Whether the left and the right edge are darker than the ground, just above the foot of the table."""
        with Image.open(BytesIO(table.screenshot())) as image:
            grey = image.convert("L")
            left, ground, right = (grey.getpixel((x, grey.height - 4)) for x in (1, 40, grey.width - 2))
        return left < ground - 40, right < ground - 40

    assert edges() == (False, True)
    table.evaluate("(one) => one.scrollLeft = one.scrollWidth")
    assert edges() == (True, False)
