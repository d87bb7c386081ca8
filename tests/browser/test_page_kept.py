"""The page for a fill that the phone keeps of nobody, fitted to the car of whoever holds the phone."""

from datetime import timedelta

from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import expect

from costing.models import Fill, FillUnit
from fleet.models import FuelKind
from instructors.models import Member
from tests.browser.conftest import OpenPage
from tests.browser.test_no_signal import visit_once
from tests.factories import CarFactory, FillFactory


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
