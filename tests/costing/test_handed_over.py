"""What the former keeper of a car and its taker are told of sums that count on another day than their own."""

from datetime import date

import pytest
from django.test import Client
from django.urls import reverse

from costing.core.records import Period
from costing.statement.services.moved import moved_of
from costing.statement.services.own import own_books
from fleet.models import Car
from instructors.models import Member
from tests.costing.pages import shown, teach_february
from tests.factories import CarFactory, CostEntryFactory, FillFactory, KeeperTimeFactory, OdometerReadingFactory

STATEMENT, HOME, CARS = reverse("costing:statement"), reverse("costing:home"), reverse("fleet:car-list")
FEBRUARY = f"{STATEMENT}?first=2026-02-01&last=2026-02-28&car=QA51ABC"
#: A pound for each of 365 days.
YEAR = {"category": "insurance", "amount": "365.00", "covers_from": date(2025, 12, 8), "covers_to": date(2026, 12, 7)}

pytestmark = pytest.mark.usefixtures("today")


@pytest.fixture
def handed(car: Car, keeper: Member, colleague: Member) -> Car:
    """The keeper's until 28 February 2026, and the colleague's since; February is wholly known, at 47,600 miles."""
    teach_february(car)
    KeeperTimeFactory(car=car, keeper=keeper, from_on=car.in_service_from, to_on=date(2026, 2, 28))
    KeeperTimeFactory(car=car, keeper=colleague, from_on=date(2026, 3, 1))
    OdometerReadingFactory(car=car, read_on=date(2026, 2, 28), miles=47_600)
    car.keeper = colleague
    car.save()
    return car


def test_what_is_left_on_the_last_day_is_said_to_be_so(
    everyone: dict[str, Client], handed: Car, keeper: Member
) -> None:
    CostEntryFactory(car=handed, member=keeper, paid_on="2025-12-01", **YEAR)
    for paid_on in ("2026-01-31", "2026-02-28"):
        CostEntryFactory(
            **{"car": handed, "member": keeper, "paid_on": paid_on},
            **{"category": "tyres", "amount": "250.00", "covers_miles": 25_000},
        )
    late = {"category": "repairs", "amount": "44.00", "paid_on": "2026-02-28"}
    CostEntryFactory(car=handed, member=keeper, **late)
    page = shown(everyone["keeper"], FEBRUARY)
    end = "when you handed the car over on 28 February 2026"
    assert f"£365.00 over 365 days, 28 of them here and £282.00 that was left of it {end} £310.00" in page
    assert (
        f"£250.00 over 25,000 miles, for the miles driven in these days and £244.00 that was left of it {end}" in page
    )
    assert f"£250.00 over 25,000 miles, what was left of it {end} £250.00" in page
    assert "28 February 2026 £44.00" in page


def test_what_is_paid_after_the_last_day_is_said_to_count_on_it(
    everyone: dict[str, Client], handed: Car, keeper: Member
) -> None:
    CostEntryFactory(car=handed, member=keeper, category="repairs", amount="44.00", paid_on="2026-03-04")
    page = shown(everyone["keeper"], FEBRUARY)
    assert "4 March 2026, paid after your last day with the car, 28 February 2026, so it counts on that day" in page
    assert "The rest of what you had paid ahead" not in page


def test_what_falls_before_a_time_is_said_to_be_so(everyone: dict[str, Client], handed: Car, colleague: Member) -> None:
    CostEntryFactory(car=handed, member=colleague, paid_on="2025-12-01", **YEAR)
    CostEntryFactory(car=handed, member=colleague, category="repairs", amount="44.00", paid_on="2026-02-26")
    page = shown(everyone["colleague"], f"{STATEMENT}?first=2026-03-01&last=2026-03-16&car=QA51ABC")
    assert "£365.00 over 365 days, 16 of them here and £83.00 for days while you did not have the car £99.00" in page
    assert "26 February 2026, paid while you did not have the car, so it counts on 1 March 2026 £44.00" in page


def test_the_end_of_the_service_is_named(everyone: dict[str, Client], car: Car, keeper: Member) -> None:
    teach_february(car)
    Car.objects.filter(pk=car.pk).update(in_service_to=date(2026, 2, 28))
    CostEntryFactory(car=car, paid_on="2025-12-01", **YEAR)
    CostEntryFactory(car=car, category="tyres", amount="250.00", paid_on="2026-01-31", covers_miles=25_000)
    page = shown(everyone["keeper"], FEBRUARY)
    assert "£282.00 that was left of it when the car left service on 28 February 2026" in page
    last = "is charged on its last day in service, 28 February 2026: £526.00."
    assert f"The rest of what you had paid ahead for QA51 ABC {last}" in page


def test_a_time_with_a_gap_has_days_on_which_one_had_the_car(
    everyone: dict[str, Client], car: Car, keeper: Member, colleague: Member
) -> None:
    for who, first, last in (
        (keeper, car.in_service_from, date(2026, 2, 10)),
        (colleague, date(2026, 2, 11), date(2026, 2, 20)),
        (keeper, date(2026, 2, 21), None),
    ):
        KeeperTimeFactory(car=car, keeper=who, from_on=first, to_on=last)
    CostEntryFactory(car=car, paid_on="2025-12-01", **YEAR)
    page = shown(everyone["keeper"], FEBRUARY)
    assert "those here on which you had the car and £10.00 for days while you did not have the car £28.00" in page


def test_the_statement_and_why_it_moved_say_what_the_last_day_was_charged(
    everyone: dict[str, Client], handed: Car, keeper: Member
) -> None:
    CostEntryFactory(car=handed, member=keeper, paid_on="2025-12-01", **YEAR)
    page = shown(everyone["keeper"], FEBRUARY)
    rest = "The rest of what you had paid ahead for QA51 ABC is charged on your last day with it, 28 February 2026"
    assert f"{rest}: £282.00." in page
    # The first half of February is as well known as the second.
    second = f"{STATEMENT}?first=2026-02-15&last=2026-02-28&car=QA51ABC"
    halves = f"{second}&than_first=2026-02-01&than_last=2026-02-14"
    # 282.00 over the 18 hours of the second half.
    assert f"{rest}: £15.67 of this lesson hour." in shown(everyone["keeper"], halves)
    turned = f"{STATEMENT}?first=2026-02-01&last=2026-02-14&than_first=2026-02-15&than_last=2026-02-28&car=QA51ABC"
    assert f"{rest}: £15.67 of that lesson hour." in shown(everyone["keeper"], turned)
    first = Period(date(2026, 2, 1), date(2026, 2, 14))
    own = own_books(keeper, first, handed)
    assert own is not None
    assert moved_of(own, first, Period(date(2026, 2, 8), date(2026, 2, 14))).ends == ()


def test_a_cover_that_ended_by_itself_is_not_charged_for_the_last_day(
    everyone: dict[str, Client], handed: Car, keeper: Member
) -> None:
    CostEntryFactory(car=handed, member=keeper, paid_on="2025-12-01", ended_on=date(2026, 2, 14), **YEAR)
    page = shown(everyone["keeper"], FEBRUARY)
    assert "£296.00 that was left of it when the policy ended on 14 February 2026" in page
    assert "The rest of what you had paid ahead" not in page


def test_only_what_takes_the_lesson_hour_away_stands_under_it(everyone: dict[str, Client], car: Car) -> None:
    FillFactory(car=car, filled_on="2026-02-03", odometer=47_000)
    html = everyone["keeper"].get(FEBRUARY).content.decode()
    mirror, rest = html.split("What else is missing")
    assert "No odometer reading after 3 February 2026" in mirror
    assert "No miles between two full tanks" not in mirror
    assert "No miles between two full tanks" in rest
    # That one reading shows no miles says nothing.
    assert "No miles run" not in html


def test_whoever_kept_a_car_is_no_newcomer(everyone: dict[str, Client], handed: Car) -> None:
    home = shown(everyone["keeper"], HOME)
    assert "You keep no car now." in home
    assert "You have no car in the book" not in home
    assert "What a lesson hour costs you will show here" not in home
    assert "You keep no car now" in shown(everyone["keeper"], CARS)
    assert "You have no car in the book." in shown(everyone["stranger"], HOME)


def test_whoever_kept_a_car_long_ago_is_no_newcomer_either(
    everyone: dict[str, Client], keeper: Member, colleague: Member
) -> None:
    car = CarFactory(keeper=colleague, registration="QB52DEF", in_service_from=date(2020, 1, 1))
    KeeperTimeFactory(car=car, keeper=keeper, from_on=date(2020, 1, 1), to_on=date(2023, 1, 31))
    KeeperTimeFactory(car=car, keeper=colleague, from_on=date(2023, 2, 1))
    home = shown(everyone["keeper"], HOME)
    assert "You keep no car now." in home
    assert "A lesson hour is not known for any of these 12 months" in home


def test_a_month_without_a_car_says_whose(everyone: dict[str, Client], handed: Car) -> None:
    handed.keeper_times.filter(to_on__isnull=False).update(to_on=date(2026, 1, 31))
    handed.keeper_times.filter(to_on__isnull=True).update(from_on=date(2026, 2, 1))
    page = shown(everyone["keeper"], reverse("costing:group"))
    assert "Why it is not known You had no car in service then" in page
    assert "The car was not in service" not in page


def test_the_reading_of_the_handover_is_the_takers_first(everyone: dict[str, Client], handed: Car) -> None:
    page = shown(everyone["colleague"], reverse("costing:odd-list"))
    assert "Odometer: 1 day with a reading or a fill." in page
