"""A look round the car in a car park: how many taps it takes, with a fault and without, with script and without."""

import pytest
from django.urls import reverse
from playwright.sync_api import Locator, Page, expect

from fleet.core.points import POINTS
from fleet.models import Car, Defect, WalkaroundCheck
from instructors.models import Member
from tests.browser.conftest import OpenPage
from tests.browser.test_every_page import faults_of, faults_of_all
from tests.factories import CheckPointFactory, DefectFactory, WalkaroundCheckFactory

MOST_TAPS = 4


class Taps:
    """Taps, and counts them."""

    def __init__(self) -> None:
        self.count = 0

    def __call__(self, target: Locator) -> None:
        target.tap()
        self.count += 1


def row_of(page: Page, name: str) -> Locator:
    """The part of the page about one point."""
    return page.locator("section li", has_text=POINTS[name].words).first


@pytest.mark.parametrize("script", [True, False])
def test_all_fine_from_the_home_page_takes_few_taps(open_page: OpenPage, taught_car: Car, script: bool) -> None:
    page, tap = open_page(taught_car.keeper, script=script), Taps()
    page.goto(reverse("costing:home"))
    tap(page.get_by_role("link", name="Check", exact=True))
    tap(page.get_by_role("button", name="I looked at everything, nothing wrong"))
    expect(page.get_by_text("No defect was recorded by this check")).to_be_visible()
    assert tap.count <= MOST_TAPS
    assert WalkaroundCheck.objects.get().points == list(POINTS)


@pytest.mark.parametrize("script", [True, False])
def test_one_fault_is_reported_on_the_way_round(open_page: OpenPage, taught_car: Car, script: bool) -> None:
    page, tap = open_page(taught_car.keeper, script=script), Taps()
    page.goto(reverse("costing:home"))
    tap(page.get_by_role("link", name="Check", exact=True))
    horn = row_of(page, "horn")
    tap(horn.locator("summary"))
    tap(horn.get_by_text("Put right before the next lesson"))
    horn.get_by_label("What is wrong").fill("silent")
    tap(page.get_by_role("button", name="I looked at everything, nothing else wrong"))
    expect(page.get_by_text("No lesson may be given in QA51 ABC")).to_be_visible()
    assert tap.count <= MOST_TAPS
    defect = Defect.objects.get()
    assert (defect.description, defect.walkaround) == ("Horn: silent", WalkaroundCheck.objects.get())


def test_a_fault_half_said_comes_back_open_with_what_was_typed(open_page: OpenPage, taught_car: Car) -> None:
    page = open_page(taught_car.keeper)
    page.goto(reverse("fleet:check-record", args=[taught_car.registration]))
    horn = row_of(page, "horn")
    horn.locator("summary").tap()
    horn.get_by_label("What is wrong").fill("silent")
    page.get_by_role("button", name="Record what is ticked").tap()
    expect(horn.get_by_label("What is wrong")).to_be_visible()
    expect(horn.get_by_label("What is wrong")).to_have_value("silent")
    expect(horn.locator(".ask.wrong")).to_have_text("Say how serious it is.")
    expect(row_of(page, "brakes").get_by_label("What is wrong")).to_be_hidden()
    assert not WalkaroundCheck.objects.exists()


def test_the_return_key_never_says_that_all_was_looked_at(open_page: OpenPage, taught_car: Car) -> None:
    page = open_page(taught_car.keeper)
    page.goto(reverse("fleet:check-record", args=[taught_car.registration]))
    page.get_by_label("All fine here").first.press("Enter")
    page.get_by_role("link", name="Checks so far").click()
    expect(page.get_by_text("No check of this car is in the book yet")).to_be_visible()
    assert not WalkaroundCheck.objects.exists()


def test_the_pages_of_the_check(open_page: OpenPage, full_book: Car, coordinator: Member) -> None:
    mark = full_book.registration
    pages = [reverse(f"fleet:{name}", args=[mark]) for name in ("check-record", "check-list")]
    pages += [reverse("fleet:check-points"), reverse("costing:home")]
    keeper = open_page(full_book.keeper)
    assert faults_of_all(keeper, iter(pages)) == []
    check = WalkaroundCheckFactory(car=full_book, note="In the rain")
    DefectFactory(car=full_book, walkaround=check, description="Tyre walls: a nail in the one at the rear left")
    CheckPointFactory(words="Roof sign")
    assert faults_of_all(keeper, iter(pages)) == []
    for address in ("check-points", "check-point-add"):
        assert faults_of(open_page(coordinator), reverse(f"fleet:{address}")) == []


def test_the_page_with_all_that_can_be_said_open(open_page: OpenPage, taught_car: Car) -> None:
    page = open_page(taught_car.keeper)
    address = reverse("fleet:check-record", args=[taught_car.registration])
    # Every part open from the start, for the look at targets, contrast and width.
    page.add_init_script(
        "addEventListener('DOMContentLoaded', () => document.querySelectorAll('main details')"
        ".forEach((part) => { part.open = true; }))"
    )
    assert faults_of(page, address) == []
