"""A week of lessons on a phone: what is typed over, what is asked below a day, and a week that waits to be sent."""

from datetime import date, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Page, expect

from costing.models import TeachingRecord
from fleet.models import Car
from tests.browser.conftest import OpenPage
from tests.browser.test_no_signal import IS_READY, WAITING, waits
from tests.browser.test_phone_keeps import visit_home_and_log

TEACHING_LOG = reverse("costing:teaching-log")
HAS_KIT = "() => Boolean(document.querySelector('[data-log]').kit)"


@pytest.fixture
def monday(taught_car: Car) -> date:
    """The Monday of last week, of which the book has nothing."""
    monday = timezone.localdate() - timedelta(days=timezone.localdate().weekday() + 7)
    TeachingRecord.objects.filter(to_on__gte=monday).delete()
    return monday


def open_kept(page: Page, monday: date) -> None:
    """Open the page of that week as the phone keeps it, without a signal."""
    visit_home_and_log(page)
    page.wait_for_function(IS_READY)
    page.context.set_offline(True)
    page.goto(f"{TEACHING_LOG}?week={monday}")
    page.wait_for_function(HAS_KIT)


def test_what_is_typed_takes_the_place_of_what_was_proposed(open_page: OpenPage, taught_car: Car, monday: date) -> None:
    page = open_page(taught_car.keeper)
    open_kept(page, monday)
    tuesday = page.locator("[name=day_1]")
    tuesday.fill("4")
    tuesday.tap()
    page.keyboard.type("6")
    expect(tuesday).to_have_value("6")


def test_an_answer_below_a_day_holds_its_words(open_page: OpenPage, taught_car: Car, monday: date) -> None:
    page = open_page(taught_car.keeper)
    open_kept(page, monday)
    page.locator("[name=day_1]").fill("18")
    page.get_by_role("button", name="Save the week").tap()
    answer = page.get_by_role("button", name="It is right").first
    expect(answer).to_be_visible()
    assert answer.evaluate("(key) => key.scrollWidth <= key.clientWidth && key.scrollHeight <= key.clientHeight")


@pytest.mark.parametrize("width", [320, 390])
def test_what_is_asked_of_a_week_stays_on_the_page(
    open_page: OpenPage, taught_car: Car, monday: date, width: int
) -> None:
    page = open_page(taught_car.keeper, width=width)
    open_kept(page, monday)
    none = page.get_by_role("button", name="No lessons this week")
    expect(none).to_be_visible()
    for number in range(7):
        page.locator(f"[name=day_{number}]").fill("3")
    page.get_by_role("button", name="Save the week").tap()
    expect(page.locator("#said")).to_contain_text("1 waiting to be sent")
    page.goto(f"{TEACHING_LOG}?week={monday}")
    page.wait_for_function(HAS_KIT)
    # "None" would say nothing of days that have their lessons.
    expect(none).to_be_hidden()
    page.get_by_role("button", name="Save the week").tap()
    keys = page.locator(".ask .answers button")
    expect(keys.first).to_be_visible()
    room = page.locator("main .ask:has(.answers)").last.bounding_box()
    for key in keys.all():
        box = key.bounding_box()
        assert room
        assert box
        assert box["x"] + box["width"] <= room["x"] + room["width"] - 8


def test_a_week_that_waits_is_told_day_by_day_and_not_proposed_again(
    open_page: OpenPage, taught_car: Car, monday: date
) -> None:
    page = open_page(taught_car.keeper)
    open_kept(page, monday)
    for number in range(7):
        page.locator(f"[name=day_{number}]").fill(str(number % 3))
    page.get_by_role("button", name="Save the week").tap()
    expect(page.locator("#said")).to_contain_text("1 waiting to be sent")
    # The next form begins with the week after it.
    expect(page.locator("[data-week]")).not_to_contain_text(f"{monday.day} to ")
    page.goto(f"{TEACHING_LOG}?week={monday}")
    page.wait_for_function(HAS_KIT)
    expect(page.locator("label[for=id_hours] small")).to_have_text("6 lessons, nothing to save")
    expect(page.locator("[name=day_2]")).to_have_value("2")
    assert waits(page, 1)
    page.goto(WAITING)
    told = page.locator("[data-waiting-list] > li")
    expect(told).to_contain_text(f"{monday:%-d %b}: 0")
    expect(told).to_contain_text(f"{monday + timedelta(days=2):%-d %b}: 2")
    # Opened to be put right it is that week, none of it in the book.
    page.get_by_role("link", name="Correct it").tap()
    expect(page.locator("[data-week]")).to_contain_text(str(monday.day))
    expect(page.locator("label[for=id_hours] small")).to_have_text("6 lessons")
    expect(page.locator("[name=day_2]")).to_have_value("2")
    expect(page.locator(".week > li").first).to_contain_text(f"{monday:%-d %b}")


def test_who_has_logged_no_lessons_is_not_told_of_a_last_week(open_page: OpenPage, taught_car: Car) -> None:
    TeachingRecord.objects.all().delete()
    page = open_page(taught_car.keeper)
    open_kept(page, timezone.localdate() - timedelta(days=7))
    expect(page.get_by_text("How many lessons did you give each day?")).to_be_visible()
    expect(page.get_by_text("As in your last week.")).to_be_hidden()


def test_the_private_miles_of_a_week_that_is_saved_are_saved_alone(
    open_page: OpenPage, taught_car: Car, monday: date
) -> None:
    page = open_page(taught_car.keeper)
    visit_home_and_log(page)
    page.wait_for_function(IS_READY)
    page.goto(f"{TEACHING_LOG}?week={monday}")
    page.wait_for_function(HAS_KIT)
    for number in range(7):
        page.locator(f"[name=day_{number}]").fill("4")
    page.get_by_role("button", name="Save the week").tap()
    expect(page.locator("#said")).to_contain_text("Logged: 28 lessons")
    page.goto(f"{TEACHING_LOG}?week={monday}")
    page.wait_for_function(HAS_KIT)
    told = page.locator("label[for=id_hours] small")
    expect(told).to_have_text("28 lessons, nothing to save")
    page.locator("[name=private_miles]").fill("30")
    expect(told).to_have_text("28 lessons in the book")
    page.get_by_role("button", name="Save the week").tap()
    expect(page.locator("#said")).to_contain_text("Logged: 30 private miles")
    standing = TeachingRecord.objects.standing().filter(from_on__gte=monday)
    assert [one.lesson_count for one in standing] == [4] * 7
    assert sum(one.private_miles or 0 for one in standing) == 30
    page.goto(f"{TEACHING_LOG}?week={monday}")
    page.wait_for_function(HAS_KIT)
    expect(page.locator("[name=private_miles]")).to_have_attribute("placeholder", "30")


def test_what_was_added_to_a_week_stands_there_with_it(open_page: OpenPage, taught_car: Car, monday: date) -> None:
    page = open_page(taught_car.keeper)
    open_kept(page, monday)
    for lessons in ("4", "2"):
        for number in range(7):
            page.locator(f"[name=day_{number}]").fill(lessons)
        page.get_by_role("button", name="Save the week").tap()
        if lessons == "2":
            page.get_by_role("button", name="Add to it").tap()
        expect(page.locator("#said")).to_contain_text("waiting to be sent")
        page.goto(f"{TEACHING_LOG}?week={monday}")
        page.wait_for_function(HAS_KIT)
    expect(page.locator("[name=day_0]")).to_have_value("6")
    expect(page.locator("label[for=id_hours] small")).to_have_text("42 lessons, nothing to save")
