"""From the sign-in page to a fill that changes what a lesson costs, with script and without."""

import re
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Page, Request, Route, expect

from costing.core.periods import last_ended_month
from costing.models import CostEntry, Fill, TeachingRecord
from fleet.core.days import add_months
from fleet.models import Car
from instructors.models import Member
from tests.browser.conftest import PASSWORD, OpenPage

FILL_LOG, COST_LOG = reverse("costing:fill-log"), reverse("costing:cost-log")


def type_fill(page: Page, amount: str = "60.00") -> None:
    """Fill in a fill of the last day of the last closed month."""
    page.get_by_label("Paid").fill(amount)
    page.get_by_label("Fuel").fill("41.2")
    page.get_by_label("Odometer").fill("47,600")
    page.get_by_label("Day").fill(last_ended_month(timezone.localdate()).last.isoformat())


@pytest.mark.parametrize("script", [True, False])
def test_a_member_signs_in_logs_a_fill_and_sees_the_cost_change(
    open_page: OpenPage, member: Member, taught_car: Car, script: bool
) -> None:
    page = open_page(script=script)
    page.goto(reverse("costing:home"))
    page.get_by_label("E-mail address").fill(member.email)
    page.get_by_label("Password", exact=True).fill(PASSWORD)
    page.get_by_role("button", name="Sign in", exact=True).click()
    closed = page.locator("main tr", has_text=f"{last_ended_month(timezone.localdate()).first:%b %Y}")
    # £30 of fuel over 30 lesson hours, until the fill that pays for the rest of the month.
    expect(closed).to_contain_text("£1.00")
    page.get_by_role("link", name="Fill").click()
    type_fill(page)
    page.get_by_role("button", name="Save this fill").click()
    if script:
        expect(page.locator("#cost_card")).to_contain_text("£3.00")
        assert page.url.endswith(FILL_LOG)
        page.get_by_role("link", name="Done").click()
    expect(closed).to_contain_text("£3.00")
    assert Fill.objects.get(amount="60.00").member == member


def test_a_fill_sent_twice_without_script_is_logged_once(open_page: OpenPage, taught_car: Car) -> None:
    page = open_page(taught_car.keeper, script=False)
    page.goto(FILL_LOG)
    type_fill(page)
    sent: list[Request] = []
    page.on("request", lambda request: sent.append(request) if request.method == "POST" else None)
    page.get_by_role("button", name="Save this fill").click()
    expect(page.get_by_text("Logged: Fill, £60.00")).to_be_visible()
    again = page.request.fetch(sent[0])
    assert "Already logged, nothing was added: Fill, £60.00" in again.text()
    assert Fill.objects.filter(amount="60.00").count() == 1


def test_a_fill_whose_answer_was_lost_on_the_way_is_sent_again_and_logged_once(
    open_page: OpenPage, taught_car: Car
) -> None:
    page = open_page(taught_car.keeper)
    page.goto(FILL_LOG)
    type_fill(page)

    def lose_the_answer(route: Route) -> None:
        route.fetch()
        route.abort()

    page.route(re.compile(FILL_LOG), lose_the_answer)
    page.get_by_role("button", name="Save this fill").click()
    expect(page.locator(".toast")).to_contain_text("No connection. What you typed is still here")
    expect(page.get_by_label("Paid")).to_have_value("60.00")
    page.unroute(re.compile(FILL_LOG))
    page.get_by_role("button", name="Save this fill").click()
    expect(page.get_by_text("Already logged, nothing was added: Fill, £60.00")).to_be_visible()
    assert Fill.objects.filter(amount="60.00").count() == 1


def test_the_form_that_comes_back_logs_another_fill(open_page: OpenPage, taught_car: Car) -> None:
    page = open_page(taught_car.keeper)
    page.goto(FILL_LOG)
    for amount in ("60.00", "12.50"):
        type_fill(page, amount)
        page.get_by_role("button", name="Save this fill").click()
        expect(page.get_by_text(f"Logged: Fill, £{amount}")).to_be_visible()
    assert set(Fill.objects.values_list("amount", flat=True)) >= {60, 12.5}


def test_choosing_insurance_fills_in_a_year_to_be_changed(open_page: OpenPage, taught_car: Car) -> None:
    page = open_page(taught_car.keeper)
    page.goto(COST_LOG)
    page.get_by_label("What for").select_option("insurance")
    expect(page.get_by_label("Covers from")).to_have_value(timezone.localdate().isoformat())
    expect(page.get_by_label("Last day covered")).not_to_have_value("")
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
    page.get_by_label("What for").select_option("insurance")
    page.get_by_label("Paid, in pounds").fill("1044")
    page.get_by_role("button", name="Save this cost").click()
    expect(page.get_by_label("Covers from")).to_have_value(timezone.localdate().isoformat())
    expect(page.get_by_label("Paid, in pounds")).to_have_value("1044")
    page.get_by_role("radio", name="Yes").check()
    page.get_by_role("button", name="Save this cost").click()
    expect(page.get_by_text("Logged: Insurance, £1,044.00")).to_be_visible()


def test_a_session_that_ended_leads_to_the_whole_sign_in_page(open_page: OpenPage, taught_car: Car) -> None:
    page = open_page(taught_car.keeper)
    page.goto(FILL_LOG)
    type_fill(page)
    page.context.clear_cookies(name="sessionid")
    page.get_by_role("button", name="Save this fill").click()
    expect(page.get_by_role("heading", name="Sign in", exact=True)).to_be_visible()
    expect(page.get_by_role("navigation", name="Main")).to_have_count(0)


def test_fit_out_is_spread_without_any_more_typing_and_follows_the_day_paid(
    open_page: OpenPage, taught_car: Car
) -> None:
    today = timezone.localdate()
    page = open_page(taught_car.keeper)
    page.goto(COST_LOG)
    page.get_by_label("What for").select_option("fit_out")
    covers_from, covers_to = page.get_by_label("Covers from"), page.get_by_label("Last day covered")
    # The car is hired for 60 months.
    term_ends = (add_months(taught_car.in_service_from, 60) - timedelta(days=1)).isoformat()
    expect(covers_to).to_have_value(term_ends)
    page.get_by_label("Day paid").fill((today - timedelta(days=3)).isoformat())
    page.get_by_label("Day paid").blur()
    expect(covers_from).to_have_value((today - timedelta(days=3)).isoformat())
    # What the member has changed stays as it is.
    covers_to.fill((today + timedelta(days=700)).isoformat())
    page.get_by_label("Day paid").fill((today - timedelta(days=4)).isoformat())
    page.get_by_label("Day paid").blur()
    page.wait_for_load_state("networkidle")
    expect(covers_to).to_have_value((today + timedelta(days=700)).isoformat())
    page.get_by_label("Paid", exact=False).first.fill("420")
    page.get_by_role("button", name="Save this cost").tap()
    expect(page.get_by_text("Logged: Fit-out")).to_be_visible()
    cost = CostEntry.objects.get(category="fit_out")
    assert (cost.covers_from, cost.covers_to) == (today - timedelta(days=3), today + timedelta(days=700))


@pytest.mark.parametrize("script", [True, False])
def test_a_week_without_lessons_is_one_tap(open_page: OpenPage, taught_car: Car, script: bool) -> None:
    page = open_page(taught_car.keeper, script=script)
    page.goto(reverse("costing:teaching-log"))
    page.get_by_role("button", name="No lessons this week").tap()
    expect(page.get_by_text("Logged: Lessons, none")).to_be_visible()
    assert TeachingRecord.objects.filter(lesson_count=0, to_on=timezone.localdate()).count() == 1


def test_private_miles_replace_the_nought_that_is_set(open_page: OpenPage, taught_car: Car) -> None:
    page = open_page(taught_car.keeper)
    page.goto(reverse("costing:teaching-log"))
    private = page.get_by_label("Private")
    expect(private).to_have_value("0")
    private.tap()
    page.keyboard.type("35")
    expect(private).to_have_value("35")
