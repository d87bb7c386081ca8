"""The page for a fill that the phone keeps of nobody, fitted to the car of whoever holds the phone."""

from datetime import timedelta

from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import expect

from costing.models import Fill, FillUnit
from fleet.models import FuelKind
from instructors.models import Member
from tests.browser.conftest import OpenPage
from tests.browser.test_no_signal import IS_READY, visit_once
from tests.factories import CarFactory, FillFactory, TeachingRecordFactory


def test_a_usual_charge_is_asked_nothing_on_the_kept_page(open_page: OpenPage, member: Member) -> None:
    car = CarFactory(keeper=member, fuel=FuelKind.ELECTRIC)
    today = timezone.localdate()
    for times in range(6, 0, -1):
        day, reading = today - timedelta(days=4 * times), 47_000 - 160 * times
        FillFactory(
            car=car,
            member=member,
            filled_on=day,
            odometer=reading,
            amount="15.00",
            quantity="50",
            unit=FillUnit.KWH,
        )
    page = open_page(member)
    visit_once(page)
    page.goto(reverse("costing:fill-log"))
    charge = page.get_by_label("Charge, in kWh")
    expect(charge).to_be_visible()
    page.get_by_label("Paid").fill("15.20")
    charge.fill("50.5")
    page.get_by_label("Odometer").fill("47010")
    page.get_by_role("button", name="Save this fill").tap()
    expect(page.get_by_text("Logged: Charge, £15.20").or_(page.get_by_text("Logged: Fill, £15.20"))).to_be_visible()
    assert Fill.objects.filter(amount="15.20").exists()


def test_a_week_in_the_book_says_so_and_proposes_nothing(open_page: OpenPage, member: Member) -> None:
    car, today = CarFactory(keeper=member), timezone.localdate()
    monday = today - timedelta(days=today.weekday())
    TeachingRecordFactory(car=car, from_on=monday - timedelta(days=3), to_on=today, lesson_count=9, minutes=540)
    page = open_page(member)
    page.goto(reverse("costing:fill-log"))
    page.wait_for_function(IS_READY)
    page.goto(reverse("costing:teaching-log"))
    page.wait_for_function("() => Boolean(document.querySelector('form[data-log]').weekOf)")
    page.goto(f"{reverse('costing:teaching-log')}?week={monday}&car={car.registration}")
    page.wait_for_function("() => Boolean(document.querySelector('form[data-log]').kit)")
    expect(page.get_by_text("in the book").first).to_be_visible()
    expect(page.get_by_text("As in your last week.")).to_be_hidden()


def test_whoever_has_no_car_is_led_to_enter_one(open_page: OpenPage, member: Member) -> None:
    page = open_page(member)
    page.goto(reverse("costing:home"))
    page.wait_for_function(IS_READY)
    page.goto(reverse("costing:fill-log"))
    expect(page.get_by_role("link", name="Add your car")).to_be_visible()
    expect(page.get_by_role("button", name="Save this fill")).to_be_hidden()
