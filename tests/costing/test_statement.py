"""The statement of a period: what the member's cars cost, each figure open to its entries."""

import re
from datetime import date
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from costing.models import ChargePlan
from fleet.models import Car
from instructors.models import Member
from tests.costing.pages import shown, teach_february, text_of
from tests.costing.statement_paper import words_of
from tests.factories import (
    AgreementFactory,
    CarFactory,
    CostEntryFactory,
    FillFactory,
    HireFactory,
    KeeperTimeFactory,
    OdometerReadingFactory,
    TeachingRecordFactory,
    ValuationFactory,
)

STATEMENT = reverse("costing:statement")
FEBRUARY = f"{STATEMENT}?first=2026-02-01&last=2026-02-28"

#: The page reads the books of all that it shows at once.
MOST_QUERIES = 20

pytestmark = pytest.mark.usefixtures("today")


@pytest.fixture
def insured(car: Car) -> Car:
    """February is wholly known, and insured for a year at £911.37."""
    teach_february(car)
    year = {"category": "insurance", "covers_from": date(2025, 12, 8), "covers_to": date(2026, 12, 7)}
    CostEntryFactory(car=car, amount="911.37", paid_on="2025-12-01", **year)
    CostEntryFactory(car=car, amount="30.00", paid_on="2026-02-10", category="repairs", supplier="Corner Workshop")
    return car


def test_the_last_ended_month_is_shown_with_all_it_is_made_of(everyone: dict[str, Client], insured: Car) -> None:
    page = shown(everyone["keeper"], STATEMENT)
    assert "February 2026 £4.44 a lesson hour" in page
    assert "£6.66 a lesson, £0.27 a mile" in page
    assert "Insurance 69.92 true cost, – money out" in page
    assert "Fuel, charge 60.00 true cost, 60.00 money out" in page
    assert "Service, repairs 30.00 true cost, 30.00 money out" in page
    assert "February 2026 159.92 true cost, 90.00 money out" in page
    assert "600 miles, business share 100.0%, 36 hours taught." in page
    assert "Miles 600 Private miles 0 Business share 100.0% Lessons 24 Hours taught 36" in page


def test_the_table_has_the_order_of_the_bar(everyone: dict[str, Client], insured: Car) -> None:
    page = everyone["keeper"].get(STATEMENT).content.decode()
    assert "Insurance took 44p of each pound" in page
    assert page.index(">Insurance</span>") < page.index(">Fuel, charge</span>") < page.index(">Service, repairs</span>")


def test_each_line_opens_its_entries_and_the_rule_that_shared_them(everyone: dict[str, Client], insured: Car) -> None:
    page = shown(everyone["keeper"], STATEMENT)
    assert "Each premium over the days it covers." in page
    assert "1 December 2025, £911.37 over 365 days, 28 of them here £69.92" in page
    first, last = date(2026, 2, 15), date(2026, 2, 28)
    part = shown(everyone["keeper"], f"{STATEMENT}?first={first}&last={last}")
    assert "28 February 2026, £60.00 for the days since the fill before £30.00" in part
    assert "Fuel, charge 30.00 true cost, 60.00 money out" in part


def test_what_is_paid_and_costs_nothing_yet_is_money_out_alone(everyone: dict[str, Client], insured: Car) -> None:
    to_come = {"covers_from": date(2026, 3, 1), "covers_to": date(2027, 2, 28)}
    CostEntryFactory(car=insured, amount="195.00", paid_on="2026-02-20", category="vehicle_tax", **to_come)
    CostEntryFactory(car=insured, amount="218.00", paid_on="2026-02-21", category="rental")
    CostEntryFactory(car=insured, amount="400.00", paid_on="2026-02-28", category="tyres", covers_miles=25_000)
    page = shown(everyone["keeper"], STATEMENT)
    assert "Vehicle tax – true cost, 195.00 money out" in page
    assert "20 February 2026, £195.00 over 365 days, none of them here £0.00" in page
    assert "Rental – true cost, 218.00 money out" in page
    assert "21 February 2026, the agreement says what it costs by the day £0.00" in page
    assert "28 February 2026, £400.00 over 25,000 miles, none of them here £0.00" in page
    assert "February 2026 159.92 true cost, 903.00 money out" in page


def test_a_sum_before_one_had_the_car_counts_on_its_first_day(
    everyone: dict[str, Client], car: Car, colleague: Member
) -> None:
    KeeperTimeFactory(car=car, keeper=colleague, from_on="2024-01-08", to_on="2026-02-10")
    KeeperTimeFactory(car=car, keeper=car.keeper, from_on="2026-02-11")
    CostEntryFactory(car=car, amount="40.00", paid_on="2026-01-20", category="repairs")
    january = shown(everyone["keeper"], f"{STATEMENT}?first=2026-01-01&last=2026-01-31")
    assert "20 January 2026, £40.00 counts on a day on which you had the car £0.00" in january
    assert "Repairs 40.00 true cost, – money out" in shown(everyone["keeper"], FEBRUARY)


def test_many_entries_are_a_tap_further(everyone: dict[str, Client], car: Car) -> None:
    for day in range(1, 13):
        CostEntryFactory(car=car, amount="1.00", paid_on=date(2026, 2, day), category="parking_tolls")
        CostEntryFactory(car=car, amount="5.00", paid_on=date(2026, 2, day), category="finance")
    page = everyone["keeper"].get(FEBRUARY).content.decode()
    found = [address.replace("&amp;", "&") for address in re.findall(r'href="([^"]+)">All 12 entries<', page)]
    assert len(found) == 2
    assert page.count(">Parking and tolls</a>") == 8
    assert any("add up to £12.00" in shown(everyone["keeper"], address) for address in found)
    paid = next(address for address in found if "category=finance" in address)
    assert "£60.00 in costs" in shown(everyone["keeper"], paid)


def test_the_entries_behind_a_figure_go_back_to_their_statement(everyone: dict[str, Client], insured: Car) -> None:
    asked = "first=2026-02-01&last=2026-02-28&car=QA51ABC"
    page = everyone["keeper"].get(f"{reverse('costing:behind-figure')}?{asked}&category=fuel").content.decode()
    assert f'<a class="back" href="{STATEMENT}?{asked.replace("&", "&amp;")}">' in page


def test_what_rests_on_no_entry_leads_to_how_the_car_is_held(everyone: dict[str, Client], insured: Car) -> None:
    AgreementFactory(car=insured, starts_on="2026-02-01", kind="weekly_rental", payment="70.00", payments=52)
    page = everyone["keeper"].get(FEBRUARY).content.decode()
    assert f'href="{reverse("costing:car-cost", args=["QA51ABC"])}#held">How you hold it<' in page
    assert "#worth" not in page


def test_an_estimate_is_marked(everyone: dict[str, Client], car: Car) -> None:
    AgreementFactory(car=car, kind="owned", payment=None, payments=None, deposit=None, frequency="")
    page = shown(everyone["keeper"], FEBRUARY)
    assert "Loss of value is an estimate." in page
    assert "What it is worth" in page


def test_miles_that_are_taken_as_level_are_said_to_be_so(everyone: dict[str, Client], insured: Car) -> None:
    insured.in_service_to = date(2026, 3, 3)
    insured.save()
    page = shown(everyone["keeper"], f"{STATEMENT}?first=2026-02-01&last=2026-03-03")
    assert "The odometer is taken as level over the few days beside a reading." in page


def test_economy_is_shown_in_both_units(everyone: dict[str, Client], insured: Car) -> None:
    page = shown(everyone["keeper"], FEBRUARY)
    assert re.search(r"From one full tank to the next, ([\d.]+) miles a gallon, ([\d.]+) litres per 100 km\.", page)
    assert re.search(r"Miles a gallon [\d.]+ Litres per 100 km [\d.]+", page)
    assert "iles a kWh" not in page


def test_a_car_that_takes_charge_shows_miles_a_kwh(everyone: dict[str, Client], car: Car) -> None:
    for day, miles in (("2026-02-01", 1_000), ("2026-02-20", 1_400)):
        FillFactory(car=car, filled_on=day, odometer=miles, unit="kwh", quantity="100", amount="30.00")
    page = shown(everyone["keeper"], FEBRUARY)
    assert "From one full charge to the next, 4.00 miles a kWh." in page
    assert "Charge 20 February 2026" in page


# --- What is missing, and what to do first ---------------------------------------------------------------


def test_what_is_missing_is_said_with_the_tap_that_mends_it(everyone: dict[str, Client], car: Car) -> None:
    CostEntryFactory(car=car, paid_on="2026-02-10")
    page = everyone["keeper"].get(FEBRUARY)
    words = text_of(page)
    assert "Not known a lesson hour No odometer reading" in words
    assert "Miles not known, lesson hours not known." in words
    to_reading = reverse("fleet:odometer-add", args=["QA51ABC"])
    assert re.search(rf'<a class="key low"\s+href="{to_reading}">Read the odometer</a>', page.content.decode())


def test_without_a_record_of_lessons_there_is_no_business_share(everyone: dict[str, Client], car: Car) -> None:
    OdometerReadingFactory(car=car, read_on="2026-01-20", miles=46_900)
    FillFactory(car=car, filled_on="2026-01-31", odometer=47_000)
    FillFactory(car=car, filled_on="2026-02-28", odometer=47_600)
    page = shown(everyone["keeper"], FEBRUARY)
    assert "No lessons logged" in page
    assert "600 miles, lesson hours not known." in page
    assert "business share" not in words_of(everyone["keeper"].get(FEBRUARY.replace("?", "pdf/?")).content)


def test_that_the_one_reading_shows_no_miles_is_not_known(everyone: dict[str, Client], car: Car) -> None:
    OdometerReadingFactory(car=car, read_on="2026-02-10", miles=46_900)
    CostEntryFactory(car=car, paid_on="2026-02-10")
    page = shown(everyone["keeper"], FEBRUARY)
    assert "No odometer reading after 10 February 2026" in page
    assert "Miles not known, " in page
    assert "o miles run" not in page
    assert " 0 miles" not in words_of(everyone["keeper"].get(FEBRUARY.replace("?", "pdf/?")).content)


def test_a_period_that_is_not_all_known_offers_the_part_that_is(everyone: dict[str, Client], insured: Car) -> None:
    page = everyone["keeper"].get(f"{STATEMENT}?first=2026-02-01&last=2026-03-10")
    assert "No odometer reading after 28 February 2026" in text_of(page)
    [known] = re.findall(r'href="([^"]+)">Show it up to that day<', page.content.decode())
    assert "February 2026 £4.44 a lesson hour" in shown(everyone["keeper"], known.replace("&amp;", "&"))


def test_an_empty_book_says_what_to_log_first(everyone: dict[str, Client], car: Car) -> None:
    page = everyone["keeper"].get(STATEMENT)
    assert "1 to 16 March 2026" in text_of(page)
    assert "Nothing is in the book yet" in text_of(page)
    assert f'href="{reverse("costing:fill-log")}">Log a fill<' in page.content.decode()


def test_days_before_the_book_lead_to_its_first_month(everyone: dict[str, Client], insured: Car) -> None:
    page = everyone["keeper"].get(f"{STATEMENT}?first=2020-02-01&last=2020-02-29")
    assert "You had no car in service then." in text_of(page)
    assert "Your first entry is from 1 December 2025." in text_of(page)
    assert f'href="{STATEMENT}?first=2025-12-01&amp;last=2025-12-31">Show that month<' in page.content.decode()


def test_whoever_has_no_car_is_told_to_add_it(everyone: dict[str, Client]) -> None:
    assert "You have no car in the book" in shown(everyone["stranger"], STATEMENT)


def test_a_book_that_began_this_month_shows_the_month_so_far(everyone: dict[str, Client], car: Car) -> None:
    CostEntryFactory(car=car, paid_on="2026-03-10", amount="12.00")
    page = shown(everyone["keeper"], STATEMENT)
    assert "1 to 16 March 2026" in page
    assert "12.00 true cost, 12.00 money out" in page


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ("first=2026-02-10&last=2026-02-09", "before the first"),
        ("first=2026-02-10&last=2026-03-17", "has not come yet"),
        ("first=2001-02-10&last=2026-02-09", "The longest period is ten years"),
        ("first=2026-02-10", "Give a day."),
        ("first=x&last=y", "Write the day like"),
        ("car=QB02XYZ", "Choose one of your own cars."),
        ("car=QZ99ZZZ", "Choose one of your own cars."),
    ],
)
def test_what_cannot_be_is_said_beside_its_field(
    everyone: dict[str, Client], insured: Car, colleague_car: Car, asked: str, words: str
) -> None:
    page = shown(everyone["keeper"], f"{STATEMENT}?{asked}")
    assert words in page
    assert "true cost" not in page


# --- Periods, cars and members ---------------------------------------------------------------------------


def test_the_usual_periods_are_one_tap_away(everyone: dict[str, Client], insured: Car) -> None:
    page = everyone["keeper"].get(STATEMENT).content.decode()
    for words, days in (
        # No day of March is known.
        ("March 2026 so far", "first=2026-03-01&amp;last=2026-03-16"),
        ("12 months to February 2026", "first=2025-03-01&amp;last=2026-02-28"),
        ("This tax year so far, to 28 February", "first=2025-04-06&amp;last=2026-02-28"),
        ("Last tax year", "first=2024-04-06&amp;last=2025-04-05"),
        ("January", "first=2026-01-01&amp;last=2026-01-31"),
    ):
        assert f'<a href="{STATEMENT}?{days}">{words}</a>' in page
    assert f'{STATEMENT}?first=2026-02-01&amp;last=2026-02-28" aria-current="true">February 2026</a>' in page
    january = everyone["keeper"].get(f"{STATEMENT}?first=2026-01-01&last=2026-01-31").content.decode()
    assert ">February</a>" in january
    assert ">December 2025</a>" in january


def test_all_years_begin_with_the_first_entry_and_are_ten_at_most(everyone: dict[str, Client], insured: Car) -> None:
    # The premium was paid in December 2025: the 12 months hold all there is.
    assert "All years" not in everyone["keeper"].get(STATEMENT).content.decode()
    CostEntryFactory(car=insured, amount="12.00", paid_on="2024-11-05", category="cleaning")
    every = f"{STATEMENT}?first=2024-11-05&amp;last=2026-02-28"
    assert f'<a href="{every}">All years</a>' in everyone["keeper"].get(STATEMENT).content.decode()
    chosen = everyone["keeper"].get(every.replace("&amp;", "&")).content.decode()
    assert f'<a href="{every}" aria-current="true">All years</a>' in chosen
    CostEntryFactory(car=insured, amount="12.00", paid_on="2009-11-05", category="cleaning")
    page = everyone["keeper"].get(STATEMENT).content.decode()
    [ten] = re.findall(r'<a href="([^"]+)">Ten years</a>', page)
    assert "errors" not in shown(everyone["keeper"], ten.replace("&amp;", "&"))
    assert everyone["keeper"].get(ten.replace("&amp;", "&")).context["statement"] is not None


def test_the_year_on_paper_is_named_by_its_months(everyone: dict[str, Client], insured: Car) -> None:
    page = everyone["keeper"].get(f"{STATEMENT}?first=2025-04-06&last=2026-02-20").content.decode()
    assert ">12 months to February 2026, PDF</a>" in page


def test_who_began_this_month_sees_it_as_far_as_it_is_known(everyone: dict[str, Client], keeper: Member) -> None:
    car = CarFactory(registration="QA51NEW", keeper=keeper, in_service_from="2026-03-02")
    OdometerReadingFactory(car=car, read_on="2026-03-02", miles=47_000)
    ask = f"{STATEMENT}?car=QA51NEW"
    assert "Not known" in text_of(everyone["keeper"].get(ask))
    HireFactory(car=car, member=keeper, starts_on="2026-03-02", payment="0.00", payments=36)
    FillFactory(car=car, filled_on="2026-03-02", odometer=47_000, unit="litre", amount="1.00")
    FillFactory(car=car, filled_on="2026-03-15", odometer=47_300, unit="litre", amount="50.00")
    TeachingRecordFactory(car=car, from_on="2026-03-02", to_on="2026-03-15", private_miles=0)
    page = everyone["keeper"].get(ask).content.decode()
    assert 'first=2026-03-01&amp;last=2026-03-15&amp;car=QA51NEW" aria-current="true"' in page
    assert "Not known" not in text_of(everyone["keeper"].get(ask))


def test_what_still_runs_ends_on_the_day_until_which_it_is_known(everyone: dict[str, Client], insured: Car) -> None:
    FillFactory(car=insured, filled_on="2026-03-10", odometer=47_900, unit="litre", amount="50.00")
    TeachingRecordFactory(car=insured, from_on="2026-03-01", to_on="2026-03-10", private_miles=0)
    page = everyone["keeper"].get(STATEMENT).content.decode()
    known = f"{STATEMENT}?first=2026-03-01&amp;last=2026-03-10"
    assert f'<a href="{known}">March 2026 so far, to Tuesday</a>' in page
    shown_there = everyone["keeper"].get(known.replace("&amp;", "&"))
    assert f'{known}" aria-current="true">March 2026 so far, to Tuesday</a>' in shown_there.content.decode()
    assert "Not known" not in text_of(shown_there)
    # Of an earlier period too, the books tell until when all is known.
    assert (
        f'<a href="{known}">'
        in everyone["keeper"].get(f"{STATEMENT}?first=2025-12-01&last=2025-12-31").content.decode()
    )


@pytest.mark.parametrize(
    ("asked", "title"),
    [
        ("first=2024-04-06&last=2025-04-05", "Tax year 2024 to 2025"),
        ("first=2025-03-01&last=2026-02-28", "March 2025 to February 2026"),
        ("first=2026-01-01&last=2026-02-28", "January to February 2026"),
        ("first=2026-01-01&last=2026-02-27", "1 January to 27 February 2026"),
    ],
)
def test_a_period_is_called_as_people_call_it(
    everyone: dict[str, Client], insured: Car, asked: str, title: str
) -> None:
    assert f"<h1>{title}</h1>" in everyone["keeper"].get(f"{STATEMENT}?{asked}").content.decode()


@pytest.mark.parametrize(
    ("first", "last", "is_of_tax_year"),
    [
        ("2024-04-06", "2025-04-05", True),
        ("2025-04-06", "2026-03-16", True),
        ("2025-04-06", "2025-04-06", True),
        ("2025-04-05", "2025-04-06", False),
        ("2025-04-07", "2026-03-16", False),
        ("2024-04-06", "2025-04-06", False),
        ("2026-02-01", "2026-02-28", False),
    ],
)
def test_a_tax_year_says_that_a_true_cost_is_no_figure_for_a_return(
    everyone: dict[str, Client], insured: Car, first: str, last: str, is_of_tax_year: bool
) -> None:
    page = shown(everyone["keeper"], f"{STATEMENT}?first={first}&last={last}")
    assert "a lesson hour" in page
    assert ("For the tax return: see the money out, by category" in page) == is_of_tax_year


def test_two_cars_are_taken_together_or_one_at_a_time(
    everyone: dict[str, Client], insured: Car, keeper: Member
) -> None:
    CostEntryFactory(
        car=CarFactory(keeper=keeper, registration="QB52DEF"), paid_on="2026-02-10", amount="44.00", category="repairs"
    )
    together = everyone["keeper"].get(FEBRUARY)
    assert "February 2026 203.92 true cost, 134.00 money out" in text_of(together)
    assert ">All your cars</a>" in together.content.decode()
    assert "QB52 DEF: no odometer reading" in text_of(together)
    assert "10 February 2026, QB52 DEF £44.00" in text_of(together)
    one = text_of(everyone["keeper"].get(f"{FEBRUARY}&car=QB52DEF"))
    assert "February 2026 44.00 true cost, 44.00 money out" in one
    assert "February 2026 159.92 true cost, 90.00 money out" in shown(everyone["keeper"], f"{FEBRUARY}&car=QA51ABC")


@pytest.mark.parametrize("who", ["colleague", "coordinator", "stranger"])
def test_nobody_sees_the_statement_of_another(everyone: dict[str, Client], insured: Car, who: str) -> None:
    for asked in (FEBRUARY, f"{FEBRUARY}&car=QA51ABC"):
        page = shown(everyone[who], asked)
        assert "911.37" not in page
        assert "69.92" not in page


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
    before, now = (shown(everyone[who], f"{FEBRUARY}&car=QA51ABC") for who in ("keeper", "colleague"))
    assert "£30.00" in before
    assert "44.00" not in before
    assert "£44.00" in now
    assert "30.00" not in now
    later = shown(everyone["keeper"], f"{STATEMENT}?first=2026-02-11&last=2026-02-28&car=QA51ABC")
    assert "You did not have this car in service then." in later
    assert "30.00" not in later


def test_what_comes_back_after_a_handover_is_money_out(
    everyone: dict[str, Client], colleague: Member, car: Car, keeper: Member
) -> None:
    KeeperTimeFactory(car=car, keeper=keeper, from_on="2024-01-08", to_on="2026-01-31")
    KeeperTimeFactory(car=car, keeper=colleague, from_on="2026-02-01")
    teach_february(CarFactory(keeper=keeper, registration="QB52DEF", in_service_from=date(2026, 1, 1)))
    CostEntryFactory(car=car, member=keeper, paid_on="2026-02-10", amount="-25.00", category="insurance")
    page = shown(everyone["keeper"], FEBRUARY)
    assert "Insurance – true cost, −25.00 money out" in page
    assert "February 2026 60.00 true cost, 35.00 money out" in page
    assert "£1.67 a lesson hour" in page


def test_a_car_that_one_has_never_kept_is_said_to_be_so(
    everyone: dict[str, Client], car: Car, colleague: Member, colleague_car: Car
) -> None:
    CostEntryFactory(car=car, member=colleague, paid_on="2026-02-10", amount="44.00")
    page = shown(everyone["colleague"], f"{FEBRUARY}&car=QA51ABC")
    assert "You did not have this car in service then." in page
    assert "44.00" not in page


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"in_service_to": date(2026, 1, 31)}, "It was last in service on 31 January 2026."),
        ({"in_service_from": date(2026, 3, 9)}, "Its service begins on 9 March 2026."),
    ],
)
def test_a_car_out_of_service_says_since_when(
    everyone: dict[str, Client], car: Car, changes: dict[str, Any], words: str
) -> None:
    Car.objects.filter(pk=car.pk).update(**changes)
    page = shown(everyone["keeper"], f"{FEBRUARY}&car=QA51ABC")
    assert words in page
    assert "Not known a lesson hour" not in page


def test_the_number_of_queries_does_not_grow_with_the_entries(
    everyone: dict[str, Client], keeper: Member, insured: Car, django_assert_max_num_queries: Any
) -> None:
    everyone["keeper"].get(FEBRUARY)  # the first one reads what is kept from then on
    with django_assert_max_num_queries(MOST_QUERIES):
        everyone["keeper"].get(FEBRUARY)
    with CaptureQueriesContext(connection) as few:
        everyone["keeper"].get(FEBRUARY)
    for mark in ("QB52DEF", "QC53GHJ"):
        another = CarFactory(keeper=keeper, registration=mark)
        for number in range(30):
            CostEntryFactory(car=another, paid_on="2026-02-10", amount="1.00")
            FillFactory(car=another, filled_on="2026-02-10", odometer=48_000 + number)
    with django_assert_max_num_queries(len(few)):
        everyone["keeper"].get(FEBRUARY)


def test_somebody_not_signed_in_is_sent_to_sign_in(everyone: dict[str, Client], car: Car) -> None:
    assert everyone["anonymous"].get(STATEMENT).url.startswith(reverse("account_login"))


# --- The dial --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("price", "words"),
    [
        ("38.00", "a lesson hour: 7 minutes’ takings at £38 an hour"),
        ("37.50", "a lesson hour: 7 minutes’ takings at £37.50 an hour"),
        ("266.40", "a lesson hour: 1 minute’s takings at £266.40 an hour"),
        ("400.00", "a lesson hour: 0.7 minutes’ takings at £400 an hour"),
    ],
)
def test_the_price_of_a_lesson_hour_gives_the_minutes_that_pay_for_the_car(
    everyone: dict[str, Client], insured: Car, keeper: Member, price: str, words: str
) -> None:
    ChargePlan.objects.create(member=keeper, lesson_hour_price=price)
    page = everyone["keeper"].get(FEBRUARY)
    assert words in text_of(page)
    assert "of each lesson hour go to the car" in page.content.decode()


def test_without_a_price_or_a_figure_there_is_no_dial(
    everyone: dict[str, Client], insured: Car, keeper: Member, colleague: Member
) -> None:
    ChargePlan.objects.create(member=colleague, lesson_hour_price="38.00")
    assert "go to the car" not in everyone["keeper"].get(FEBRUARY).content.decode()
    ChargePlan.objects.create(member=keeper, lesson_hour_price="0.00")
    assert "go to the car" not in everyone["keeper"].get(FEBRUARY).content.decode()
    ChargePlan.objects.filter(member=keeper).update(lesson_hour_price="38.00")
    assert "go to the car" in everyone["keeper"].get(FEBRUARY).content.decode()
    unknown = everyone["keeper"].get(f"{STATEMENT}?first=2026-02-01&last=2026-03-10").content.decode()
    assert "Not known" in unknown
    assert "go to the car" not in unknown
