"""A look round the car in a car park: how many taps it takes, with a fault and without, with script and without."""

import re

import pytest
from django.urls import reverse
from playwright.sync_api import FilePayload, Locator, Page, expect

from fleet.core.points import GROUPS, POINTS
from fleet.models import Car, Defect, WalkaroundCheck
from fleet.queries import points_in_use
from instructors.models import Member
from tests.browser.conftest import OpenPage
from tests.browser.test_every_page import faults_now, faults_of, faults_of_all
from tests.factories import CheckPointFactory, DefectFactory, WalkaroundCheckFactory
from tests.pictures import picture_bytes

#: Of a car in order: from the home page on. The issue asks for 5 to 8, and at most 4 more with one fault and its photo.
LEAST_TAPS, MOST_TAPS, MORE_TAPS = 5, 8, 4
PHOTO: FilePayload = {"name": "nail.jpg", "mimeType": "image/jpeg", "buffer": picture_bytes()}


class Taps:
    """Taps, and counts them."""

    def __init__(self) -> None:
        self.count = 0

    def __call__(self, target: Locator) -> None:
        target.tap()
        self.count += 1


def row_of(page: Page, name: str) -> Locator:
    """The part of the page about one point."""
    return page.locator(".points > li", has_text=POINTS[name].words).first


def key(page: Page, words: str) -> Locator:
    """The key that ends a group, once it says so."""
    return page.get_by_role("button", name=words, exact=True)


def group_page(car: Car, group: str = "outside") -> str:
    return reverse("fleet:check-group", args=[car.registration, "7b1f3f0e-38b5-4b64-9d0b-0f3a5b0a4f11", group])


@pytest.mark.parametrize("script", [True, False])
def test_a_car_in_order_takes_five_to_eight_taps(open_page: OpenPage, taught_car: Car, script: bool) -> None:
    page, tap = open_page(taught_car.keeper, script=script), Taps()
    page.goto(reverse("costing:home"))
    tap(page.get_by_role("link", name="Check", exact=True))
    for title, words in zip(GROUPS.values(), ("eight", "five", "eight", "five"), strict=True):
        expect(page.get_by_role("heading", name=title)).to_be_visible()
        tap(key(page, f"All {words} are fine"))
    expect(page.get_by_text("No defect was recorded by this check")).to_be_visible()
    assert LEAST_TAPS <= tap.count <= MOST_TAPS
    check = WalkaroundCheck.objects.get()
    assert check.points == [point.name for point in points_in_use(taught_car, check.checked_on)]
    assert check.is_whole
    assert check.seconds is not None
    assert check.seconds < 60


@pytest.mark.parametrize("script", [True, False])
def test_one_fault_with_its_photo_takes_at_most_four_more(open_page: OpenPage, taught_car: Car, script: bool) -> None:
    page, tap = open_page(taught_car.keeper, script=script), Taps()
    page.goto(reverse("costing:home"))
    tap(page.get_by_role("link", name="Check", exact=True))
    tap(key(page, "All eight are fine"))
    fluid = row_of(page, "brake_fluid")
    tap(fluid.locator(".fault"))
    tap(fluid.get_by_text("Before the next lesson"))
    with page.expect_file_chooser() as chosen:
        tap(fluid.get_by_label("photo"))
    chosen.value.set_files(PHOTO)
    tap(key(page, "The other four are fine" if script else "The others are fine"))
    expect(page.get_by_text("No lesson may be given in QA51 ABC")).to_be_visible()
    for words in ("eight", "five"):
        tap(key(page, f"All {words} are fine"))
    expect(page.get_by_text("1 defect recorded by this check")).to_be_visible()
    # The shutter of the phone's own camera is one more.
    assert tap.count + 1 <= LEAST_TAPS + MORE_TAPS
    defect = Defect.objects.get()
    assert (defect.description, defect.walkaround) == ("Brake fluid", WalkaroundCheck.objects.get())
    assert defect.photo is not None


def test_the_key_counts_as_faults_come_and_go(open_page: OpenPage, taught_car: Car) -> None:
    DefectFactory(car=taught_car, point="coolant", description="Coolant low", severity="watch")
    page = open_page(taught_car.keeper)
    page.goto(group_page(taught_car, "fluids"))
    expect(page.get_by_text("Stays open: Coolant low.")).to_be_visible()
    names = ["engine_oil", "brake_fluid", "washer_fluid", "battery"]
    for name, words in zip(names, ("four", "three", "two", "one"), strict=True):
        expect(key(page, f"The other {words} {'is' if words == 'one' else 'are'} fine")).to_be_visible()
        row_of(page, name).locator(".fault").tap()
    expect(key(page, "Record this and go on")).to_be_visible()
    row_of(page, "battery").locator(".fault").tap()
    expect(key(page, "The other one is fine")).to_be_visible()
    expect(row_of(page, "battery").get_by_label("what is wrong")).to_be_hidden()


def test_a_fault_half_said_comes_back_open_with_what_was_typed(open_page: OpenPage, taught_car: Car) -> None:
    page = open_page(taught_car.keeper)
    page.goto(group_page(taught_car, "inside"))
    horn = row_of(page, "horn")
    horn.locator(".fault").tap()
    horn.get_by_label("what is wrong").fill("silent")
    key(page, "The other seven are fine").tap()
    expect(horn.get_by_label("what is wrong")).to_have_value("silent")
    expect(horn.locator(".ask.wrong")).to_have_text("Say how serious it is.")
    expect(key(page, "The other seven are fine")).to_be_visible()
    expect(row_of(page, "brakes").get_by_label("what is wrong")).to_be_hidden()
    assert not WalkaroundCheck.objects.exists()


def test_back_and_a_second_tap_lose_nothing_and_add_nothing(open_page: OpenPage, taught_car: Car) -> None:
    page = open_page(taught_car.keeper)
    page.goto(reverse("costing:home"))
    page.get_by_role("link", name="Check", exact=True).tap()
    key(page, "All eight are fine").dblclick()
    expect(page.get_by_role("heading", name="Under the bonnet")).to_be_visible()
    page.go_back()
    expect(page.get_by_text("You have looked at this part already.")).to_be_visible()
    row_of(page, "wipers").locator(".fault").tap()
    row_of(page, "wipers").get_by_text("Watch it").tap()
    key(page, "The other seven are fine").tap()
    expect(page.get_by_role("heading", name="Under the bonnet")).to_be_visible()
    assert WalkaroundCheck.objects.count() == 1
    assert Defect.objects.get().point == "wipers"


def test_with_a_phone_that_died_the_check_goes_on(open_page: OpenPage, taught_car: Car) -> None:
    page = open_page(taught_car.keeper)
    page.goto(reverse("fleet:check-record", args=[taught_car.registration]))
    key(page, "All eight are fine").tap()
    expect(page.get_by_role("heading", name="Under the bonnet")).to_be_visible()
    other = open_page(taught_car.keeper)
    other.goto(reverse("costing:home"))
    other.get_by_role("link", name="Check", exact=True).tap()
    expect(other.get_by_role("heading", name="Under the bonnet")).to_be_visible()
    expect(other.get_by_text(re.compile(r"You began this check at \d\d:\d\d"))).to_be_visible()


def test_after_a_grave_fault_one_may_stop_at_once(open_page: OpenPage, taught_car: Car) -> None:
    page = open_page(taught_car.keeper)
    page.goto(group_page(taught_car))
    row_of(page, "tyre_walls").locator(".fault").tap()
    row_of(page, "tyre_walls").get_by_text("Do not drive").tap()
    key(page, "The other seven are fine").tap()
    expect(page.locator(".stop.strip")).to_contain_text("is off the road")
    page.get_by_role("link", name="Stop here: all of it is saved").tap()
    page.wait_for_url("**/cars/QA51ABC/")
    assert not WalkaroundCheck.objects.get().is_whole


def test_the_pages_of_the_check(open_page: OpenPage, full_book: Car, coordinator: Member) -> None:
    mark = full_book.registration
    pages = [reverse("fleet:check-list", args=[mark]), reverse("fleet:check-points"), reverse("costing:home")]
    pages += [group_page(full_book, group) for group in GROUPS]
    keeper = open_page(full_book.keeper)
    assert faults_of_all(keeper, iter(pages)) == []
    check = WalkaroundCheckFactory(car=full_book, note="In the rain", seconds=225)
    DefectFactory(
        car=full_book,
        walkaround=check,
        point="tyre_walls",
        severity="watch",
        description="Tyre walls: a nail in the one at the rear left, beyond the tread and so close to the edge",
    )
    CheckPointFactory(words="Roof sign")
    assert faults_of_all(keeper, iter(pages)) == []
    for address in ("check-points", "check-point-add"):
        assert faults_of(open_page(coordinator), reverse(f"fleet:{address}")) == []


def test_a_group_with_all_that_can_be_said_open(open_page: OpenPage, taught_car: Car) -> None:
    page = open_page(taught_car.keeper)
    for group in GROUPS:
        page.goto(group_page(taught_car, group))
        for fault in page.locator(".fault").all():
            fault.tap()
        page.locator("summary").tap()
        assert faults_now(page, group) == []
