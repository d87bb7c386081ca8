"""Logging on a phone: three numbers and a tap, a category, a week of steppers; with script and without."""

import re
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Page, Request, expect

from costing.core.periods import last_ended_month
from costing.models import CostEntry, Fill, TeachingRecord
from fleet.core.days import add_months
from fleet.models import Car
from instructors.models import Member
from tests.browser.conftest import PASSWORD, OpenPage

HOME, FILL_LOG = reverse("costing:home"), reverse("costing:fill-log")
COST_LOG, TEACHING_LOG = reverse("costing:cost-log"), reverse("costing:teaching-log")


def open_log(page: Page, address: str) -> None:
    """Open a log page, and wait until its script knows the cars of the member."""
    page.goto(address)
    for _ in range(100):
        if page.evaluate("Boolean(document.querySelector('form[data-log]').kit)"):
            return
        page.wait_for_timeout(50)
    raise AssertionError("the script of the page has no kit")


def type_fill(page: Page, amount: str = "60.00") -> None:
    """Fill in a fill of the last day of the last closed month."""
    page.get_by_label("Paid").fill(amount)
    page.get_by_label("Fuel").fill("41.2")
    page.get_by_label("Odometer").fill("47,600")
    page.get_by_label("Day").fill(last_ended_month(timezone.localdate()).last.isoformat())


def save_fill(page: Page, amount: str = "60.00") -> None:
    """Save it. The book asks how it was bought on no miles, and is told that this is right."""
    page.get_by_role("button", name="Save this fill").click()
    page.get_by_role("button", name="It is right").click()
    expect(page.get_by_text(f"Logged: Fill, £{amount}")).to_be_visible()


@pytest.mark.parametrize("script", [True, False])
def test_a_member_signs_in_logs_a_fill_and_sees_the_cost_change(
    open_page: OpenPage, member: Member, taught_car: Car, script: bool
) -> None:
    page = open_page(script=script)
    page.goto(HOME)
    page.get_by_label("E-mail address").fill(member.email)
    page.get_by_label("Password", exact=True).fill(PASSWORD)
    page.get_by_role("button", name="Sign in", exact=True).click()
    closed = page.locator("main tr", has_text=f"{last_ended_month(timezone.localdate()).first:%b %Y}")
    # £30 of fuel over 30 lesson hours, until the fill that pays for the rest of the month.
    expect(closed).to_contain_text("£1.00")
    page.get_by_role("link", name="Fill").click()
    type_fill(page)
    save_fill(page)
    if script:
        assert page.url.endswith(FILL_LOG)
        page.goto(HOME)
    expect(closed).to_contain_text("£3.00")
    assert Fill.objects.get(amount="60.00").member == member


def test_a_fill_is_three_numbers_and_one_tap(open_page: OpenPage, taught_car: Car) -> None:
    page = open_page(taught_car.keeper)
    page.goto(HOME)
    page.get_by_role("link", name="Fill").tap()
    expect(page.get_by_label("Paid")).to_be_focused()
    last = Fill.objects.latest("odometer").odometer
    for number in ("40.64", "36", str(last + 300)):
        page.keyboard.type(number)
        page.keyboard.press("Enter")
    expect(page.get_by_text("Logged: Fill, £40.64")).to_be_visible()
    fill = Fill.objects.get(amount="40.64")
    assert (str(fill.quantity), fill.odometer, fill.filled_on) == ("36.000", last + 300, timezone.localdate())
    # The form is new, and one goes on typing.
    expect(page.get_by_label("Paid")).to_have_value("")
    expect(page.get_by_label("Paid")).to_be_focused()
    page.get_by_role("button", name="Undo").tap()
    expect(page.get_by_text("Undone: Fill, £40.64")).to_be_visible()
    assert not Fill.objects.standing().filter(amount="40.64").exists()


def test_two_figures_show_the_third_as_it_will_be_saved(open_page: OpenPage, taught_car: Car) -> None:
    page = open_page(taught_car.keeper)
    open_log(page, FILL_LOG)
    paid, fuel, price = (page.locator(f"[name={name}]") for name in ("amount", "quantity", "unit_price"))
    paid.fill("51.84")
    fuel.fill("36.28")
    expect(price).to_have_attribute("placeholder", "142.9")
    fuel.fill("")
    price.fill("142.9")
    expect(fuel).to_have_attribute("placeholder", "36.277")
    paid.fill("")
    fuel.fill("36.28")
    expect(paid).to_have_attribute("placeholder", "51.84")


def test_a_fill_sent_twice_without_script_is_logged_once_and_undone(open_page: OpenPage, taught_car: Car) -> None:
    page = open_page(taught_car.keeper, script=False)
    page.goto(FILL_LOG)
    type_fill(page)
    sent: list[Request] = []
    page.on("request", lambda request: sent.append(request) if request.method == "POST" else None)
    save_fill(page)
    again = page.request.fetch(sent[0])
    assert "Already logged, nothing was added: Fill, £60.00" in again.text()
    assert Fill.objects.filter(amount="60.00").count() == 1
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_text("Undone: Fill, £60.00")).to_be_visible()


@pytest.mark.parametrize("script", [True, False])
def test_back_never_shows_what_was_typed(open_page: OpenPage, taught_car: Car, script: bool) -> None:
    page = open_page(taught_car.keeper, script=script)
    page.goto(FILL_LOG)
    for label, number in (("Paid", "40.64"), ("Fuel", "36"), ("Odometer", "47,900")):
        page.get_by_label(label).fill(number)
    page.get_by_role("button", name="Save this fill").click()
    expect(page.get_by_text("Logged: Fill, £40.64")).to_be_visible()
    if script:
        page.goto(HOME)
    page.go_back()
    expect(page.get_by_label("Paid")).to_have_value("")
    expect(page.get_by_label("Odometer")).to_have_value("")


def test_choosing_insurance_fills_in_a_year_to_be_changed(open_page: OpenPage, taught_car: Car) -> None:
    page = open_page(taught_car.keeper)
    open_log(page, COST_LOG)
    page.locator("label", has_text="Insurance").tap()
    expect(page.get_by_label("Paid, in pounds")).to_be_focused()
    expect(page.get_by_label("Covers from")).to_have_value(timezone.localdate().isoformat())
    last = add_months(timezone.localdate(), 12) - timedelta(days=1)
    expect(page.get_by_label("Last day covered")).to_have_value(last.isoformat())
    expect(page.get_by_label("Lasts about")).to_be_hidden()
    page.get_by_label("Paid, in pounds").fill("1044")
    page.get_by_role("radio", name="Yes").check()
    page.get_by_role("button", name="Save this cost").click()
    expect(page.get_by_text("Logged: Insurance, £1,044.00")).to_be_visible()
    assert CostEntry.objects.get().covers_from == timezone.localdate()


def test_without_script_insurance_is_asked_what_it_covers_and_nothing_typed_is_lost(
    open_page: OpenPage, taught_car: Car
) -> None:
    page = open_page(taught_car.keeper, script=False)
    page.goto(COST_LOG)
    page.locator("label", has_text="Insurance").click()
    page.get_by_label("Paid, in pounds").fill("1044")
    page.get_by_role("button", name="Save this cost").click()
    expect(page.get_by_label("Covers from")).to_have_value(timezone.localdate().isoformat())
    expect(page.get_by_label("Paid, in pounds")).to_have_value("1044")
    page.get_by_role("radio", name="Yes").check()
    page.get_by_role("button", name="Save this cost").click()
    expect(page.get_by_text("Logged: Insurance, £1,044.00")).to_be_visible()


def test_fit_out_is_spread_without_any_more_typing_and_follows_the_day_paid(
    open_page: OpenPage, taught_car: Car
) -> None:
    today = timezone.localdate()
    page = open_page(taught_car.keeper)
    open_log(page, COST_LOG)
    fit_out = page.locator("label", has_text="Fit-out")
    if not fit_out.is_visible():
        page.get_by_text("Something else").tap()
    fit_out.tap()
    covers_from, covers_to = page.get_by_label("Covers from"), page.get_by_label("Last day covered")
    # The car is hired for 60 months.
    term_ends = (add_months(taught_car.in_service_from, 60) - timedelta(days=1)).isoformat()
    expect(covers_to).to_have_value(term_ends)
    page.get_by_label("Day", exact=True).fill((today - timedelta(days=3)).isoformat())
    expect(covers_from).to_have_value((today - timedelta(days=3)).isoformat())
    # What the member has changed stays as it is.
    covers_to.fill((today + timedelta(days=700)).isoformat())
    page.get_by_label("Day", exact=True).fill((today - timedelta(days=4)).isoformat())
    expect(covers_to).to_have_value((today + timedelta(days=700)).isoformat())
    expect(covers_from).to_have_value((today - timedelta(days=3)).isoformat())


@pytest.mark.parametrize("script", [True, False])
def test_a_week_is_seven_steppers(open_page: OpenPage, taught_car: Car, script: bool) -> None:
    monday = timezone.localdate() - timedelta(days=timezone.localdate().weekday() + 7)
    TeachingRecord.objects.filter(to_on__gte=monday).delete()
    page = open_page(taught_car.keeper, script=script)
    (open_log if script else Page.goto)(page, f"{TEACHING_LOG}?week={monday}")
    for number in range(7):
        page.locator(f"[name=day_{number}]").fill("3")
    if script:
        more = page.get_by_role("button", name="One lesson more on Tuesday")
        more.tap()
        more.tap()
        page.get_by_role("button", name="One lesson fewer on Sunday").tap()
        expect(page.locator("label[for=id_hours] small")).to_have_text("22 lessons")
        expect(page.locator(".week > li").nth(1).locator(".blocks > .full")).to_have_count(8)
    page.get_by_label("Private").fill("40")
    page.get_by_role("button", name="Save the week").tap()
    expect(page.get_by_text(re.compile("Logged: 2[12] lessons, 3[13](.5)? hours"))).to_be_visible()
    taught = TeachingRecord.objects.filter(from_on__gte=monday).order_by("from_on")
    assert [one.lesson_count for one in taught] == ([3, 5, 3, 3, 3, 3, 2] if script else [3] * 7)
    assert sum(one.private_miles for one in taught) == 40
    page.get_by_role("button", name="Undo").tap()
    expect(page.get_by_text("Undone: a week of lessons")).to_be_visible()


@pytest.mark.parametrize("script", [True, False])
def test_a_week_without_lessons_is_one_tap(open_page: OpenPage, taught_car: Car, script: bool) -> None:
    page = open_page(taught_car.keeper, script=script)
    (open_log if script else Page.goto)(page, TEACHING_LOG)
    page.get_by_role("button", name="No lessons this week").tap()
    expect(page.get_by_text("Logged: no lessons")).to_be_visible()
    assert TeachingRecord.objects.filter(lesson_count=0, batch__kind="week").exists()
