"""The page of what one car costs."""

from datetime import date

import pytest
from django.test import Client
from django.urls import reverse

from costing.core.records import Period
from costing.views.car_cost import tax_year_of
from fleet.models import Car
from instructors.models import Member
from tests.costing.pages import shown, teach_february, text_of
from tests.factories import AgreementFactory, CarFactory, CostEntryFactory, KeeperTimeFactory, ValuationFactory

COST = reverse("costing:car-cost", args=["QA51ABC"])
FEBRUARY = f"{COST}?first=2026-02-01&last=2026-02-28"

needs_today = pytest.mark.usefixtures("today")


@needs_today
def test_the_last_ended_month_is_shown_with_all_it_is_made_of(everyone: dict[str, Client], car: Car) -> None:
    teach_february(car)
    page = shown(everyone["keeper"], COST)
    assert "February 2026 from your own entries only £1.67 a lesson hour" in page
    assert "£60.00 true cost £2.50 a lesson, £0.10 a mile" in page
    assert "Fuel and charging £60.00" in page
    assert "Fuel and charging Each fill pays for the days since the fill before it." in page
    assert "Money out in the same period: £60.00" in page
    assert "Miles 600 Private miles 0 Business share 100.0 % Lessons 24 Hours taught 36" in page


@needs_today
def test_other_dates_may_be_asked_for(everyone: dict[str, Client], car: Car) -> None:
    teach_february(car)
    CostEntryFactory(car=car, paid_on="2026-02-10", amount="30.00")
    page = shown(everyone["keeper"], f"{COST}?first=2026-02-10&last=2026-02-10")
    assert "10 February 2026 from your own entries only" in page
    assert "£32.14 true cost" in page


@needs_today
@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ("first=2026-02-10&last=2026-02-09", "before the first"),
        ("first=2026-02-10&last=2026-03-17", "has not come yet"),
        ("first=2001-02-10&last=2026-02-09", "The longest period is ten years"),
        ("first=2026-02-10", "Give a day."),
        ("first=x&last=y", "Write the day like"),
    ],
)
def test_dates_that_cannot_be_are_said_to_be_so(everyone: dict[str, Client], car: Car, asked: str, words: str) -> None:
    assert words in shown(everyone["keeper"], f"{COST}?{asked}")


@needs_today
def test_it_says_over_how_many_days_each_cover_is_spread(
    everyone: dict[str, Client], car: Car, colleague: Member
) -> None:
    year = {"category": "insurance", "covers_from": date(2025, 12, 8), "covers_to": date(2026, 12, 7)}
    CostEntryFactory(car=car, amount="911.37", **year)
    CostEntryFactory(car=car, amount="1.11", ended_on=date(2026, 1, 31), **year)
    CostEntryFactory(car=car, amount="2.22", member=colleague, **year)
    CostEntryFactory(car=car, amount="3.33", voided_at="2026-03-01T09:00Z", **year)
    CostEntryFactory(car=car, amount="4.44", covers_from=date(2026, 3, 1), covers_to=date(2026, 3, 1))
    page = shown(everyone["keeper"], FEBRUARY)
    assert "Insurance: £911.37 over 365 days" in page
    assert not [amount for amount in ("£1.11", "£2.22", "£3.33", "£4.44") if amount in page]
    listed = shown(everyone["keeper"], reverse("costing:entries"))
    assert "over 365 days, 8 December 2025 to 7 December 2026" in listed
    assert "over 1 day, 1 March 2026" in listed


@needs_today
def test_what_is_missing_is_said_and_not_shown_as_nothing(everyone: dict[str, Client], car: Car) -> None:
    CostEntryFactory(car=car, paid_on="2026-02-10")
    page = shown(everyone["keeper"], FEBRUARY)
    assert "No odometer reading" in page
    assert "Not known a lesson hour" in page
    assert "Miles not known" in page


@needs_today
@pytest.mark.parametrize(
    ("starts_on", "words"), [("2026-03-16", "began on 16 March 2026"), ("2026-03-17", "begins on 17 March 2026")]
)
def test_an_agreement_to_come_begins_and_another_began(
    everyone: dict[str, Client], car: Car, starts_on: str, words: str
) -> None:
    AgreementFactory(car=car, starts_on=starts_on)
    assert words in shown(everyone["keeper"], COST)


@needs_today
def test_an_estimate_is_marked(everyone: dict[str, Client], car: Car) -> None:
    AgreementFactory(car=car, kind="owned", payment=None, payments=None, deposit=None, frequency="")
    page = shown(everyone["keeper"], FEBRUARY)
    assert "Loss of value (estimate)" in page
    assert "true cost, partly an estimate" in page


@needs_today
@pytest.mark.parametrize("who", ["colleague", "coordinator", "stranger"])
def test_the_costs_of_anothers_car_are_not_there(everyone: dict[str, Client], car: Car, who: str) -> None:
    assert everyone[who].get(COST).status_code == 404
    assert everyone[who].get(reverse("costing:car-cost", args=["QZ99ZZZ"])).status_code == 404


@needs_today
def test_somebody_not_signed_in_is_sent_to_sign_in(everyone: dict[str, Client], car: Car) -> None:
    assert everyone["anonymous"].get(COST).url.startswith(reverse("account_login"))


@needs_today
def test_a_car_handed_on_shows_each_keeper_their_own_records_only(
    everyone: dict[str, Client], colleague: Member, car: Car
) -> None:
    CostEntryFactory(car=car, paid_on="2026-02-10", amount="30.00")
    ValuationFactory(car=car)
    KeeperTimeFactory(car=car, keeper=car.keeper, from_on="2024-01-08", to_on="2026-02-10")
    KeeperTimeFactory(car=car, keeper=colleague, from_on="2026-02-11")
    car.keeper = colleague
    car.save()
    CostEntryFactory(car=car, member=colleague, paid_on="2026-02-11", amount="44.00")
    before, now = shown(everyone["keeper"], FEBRUARY), shown(everyone["colleague"], FEBRUARY)
    assert "£30.00" in before
    assert "£7,900.00" in before
    assert "Record what it is worth" not in before
    assert "44.00" not in before
    assert "£44.00" in now
    later = everyone["keeper"].get(COST, {"first": "2026-02-11", "last": "2026-02-28"})
    assert "You did not keep the car then." in text_of(later)
    assert "30.00" not in now
    assert "7,900" not in now


@needs_today
def test_the_mark_may_be_typed_as_it_is_spoken(everyone: dict[str, Client], car: Car) -> None:
    response = everyone["keeper"].get(reverse("costing:car-cost", args=["qa51 abc"]))
    assert "What QA51 ABC costs" in text_of(response)


@pytest.mark.parametrize(
    ("day", "year"),
    [
        (date(2026, 4, 5), Period(date(2025, 4, 6), date(2026, 4, 5))),
        (date(2026, 4, 6), Period(date(2026, 4, 6), date(2027, 4, 5))),
        (date(2026, 12, 31), Period(date(2026, 4, 6), date(2027, 4, 5))),
        (date(2027, 1, 1), Period(date(2026, 4, 6), date(2027, 4, 5))),
    ],
)
def test_a_tax_year_runs_from_6_april_to_5_april(day: date, year: Period) -> None:
    assert tax_year_of(day) == year


@needs_today
def test_a_car_in_its_first_month_shows_the_month_so_far(everyone: dict[str, Client], keeper: Member) -> None:
    CostEntryFactory(car=CarFactory(keeper=keeper, registration="QA51ABC", in_service_from="2026-03-09"))
    assert "1 to 16 March 2026 from your own entries only" in shown(everyone["keeper"], COST)
    page = shown(everyone["keeper"], FEBRUARY)
    assert "The car was not in service then. It came into service on 9 March 2026." in page
    assert "What is missing" not in page
    assert "Not known a lesson hour" not in page


@needs_today
def test_a_car_that_has_left_says_since_when(everyone: dict[str, Client], car: Car) -> None:
    car.in_service_to = date(2026, 1, 31)
    car.save()
    assert "It was last in service on 31 January 2026." in shown(everyone["keeper"], COST)
