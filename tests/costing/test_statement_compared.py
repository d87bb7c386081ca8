"""Of the book: which two periods are compared, what their lesson hours are made of, and how a car does brim by brim."""

import re
from datetime import date, timedelta
from fractions import Fraction

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from costing.core.economy import Economy, Stretch
from costing.core.periods import month_of
from costing.core.records import Period
from costing.models import Agreement, FillUnit
from costing.report import car_reports
from costing.statement.core.brims import brims_of
from costing.statement.core.burned import Burned
from costing.statement.core.moved import Factor
from costing.statement.core.odd import Fall
from costing.statement.pictures import economy
from costing.statement.services.economy import Bought, CarEconomy, economy_of
from costing.statement.services.moved import WhyMoved, moved_of
from costing.statement.services.own import OwnBooks, own_books
from fleet.models import Car
from instructors.models import Member
from tests.costing.pages import shown
from tests.factories import (
    AgreementFactory,
    CarFactory,
    CostEntryFactory,
    FillFactory,
    KeeperTimeFactory,
    OdometerReadingFactory,
    TeachingRecordFactory,
)

JANUARY, FEBRUARY = month_of(date(2026, 1, 1)), month_of(date(2026, 2, 1))
OCTOBER, NOVEMBER = month_of(date(2025, 10, 1)), month_of(date(2025, 11, 1))

pytestmark = pytest.mark.usefixtures("today")


@pytest.fixture
def driven(car: Car) -> Car:
    """From October 2025 to February 2026: 600 miles, 50 litres at £1.20 and 40 hours a month, but 60 in February."""
    drive(car)
    return car


def drive(car: Car) -> None:
    AgreementFactory(car=car, starts_on="2025-09-01", kind="weekly_rental", payment="70.00", payments=80)
    OdometerReadingFactory(car=car, miles=10_000, read_on="2025-09-30")
    for index, month in enumerate([date(2025, 10, 1), date(2025, 11, 1), date(2025, 12, 1), JANUARY[0], FEBRUARY[0]]):
        first, last = month_of(month)
        miles = 10_000 + 600 * (index + 1)
        price = {"amount": "66.00" if month.month == 2 else "60.00", "quantity": "50.00"}
        FillFactory(car=car, odometer=miles, filled_on=last, **price)
        hours = 60 if month.month == 2 else 40
        TeachingRecordFactory(car=car, from_on=first, to_on=last, lesson_count=20, minutes=60 * hours, private_miles=60)


def own(member: Member, period: Period, car: Car | None = None) -> OwnBooks:
    found = own_books(member, period, car)
    assert found is not None
    return found


def why(member: Member, period: Period, *, car: Car | None = None, than: Period | None = None) -> WhyMoved:
    return moved_of(own(member, period, car), period, than)


def brim_by_brim(member: Member, period: Period, *, car: Car | None = None) -> list[CarEconomy]:
    return economy_of(own(member, period, car), period)


def test_a_month_is_held_against_the_one_before(driven: Car, keeper: Member) -> None:
    found = why(keeper, FEBRUARY)
    assert (found.period, found.than, found.lacks) == (FEBRUARY, JANUARY, ())
    assert found.moved is not None
    [[january, february]] = car_reports([JANUARY, FEBRUARY], cars=[driven], member=keeper)
    assert found.moved.before.pence == january.cost.cost_per_lesson_hour
    assert found.moved.after.pence == february.cost.cost_per_lesson_hour
    assert found.moved.after.burned == {"litre": Burned(6_600, 50_000)}
    assert (found.moved.before.days, found.moved.after.days) == (31, 28)
    prices = {one.factor: (one.before, one.after) for one in found.moved.effects}
    assert prices[Factor.A_LITRE] == (120, 132)


def test_the_nearest_month_that_is_known_is_taken(driven: Car, keeper: Member) -> None:
    TeachingRecordFactory(car=driven, from_on="2026-01-05", to_on="2026-01-05", lesson_count=1, minutes=None)
    assert why(keeper, FEBRUARY).than == month_of(date(2025, 12, 1))


def test_one_may_name_another_period(driven: Car, keeper: Member) -> None:
    found = why(keeper, FEBRUARY, than=NOVEMBER)
    assert found.than == NOVEMBER
    assert found.moved is not None
    back = why(keeper, NOVEMBER, than=FEBRUARY)
    assert back.moved is not None
    assert back.moved.change == -found.moved.change


def test_the_first_day_of_an_agreement_makes_no_day_of_loss_dearer(driven: Car, keeper: Member) -> None:
    """Bought on 10 January: the first day has no loss, and a day of it costs in February what it cost in January."""
    Agreement.objects.all().delete()
    driven.in_service_from = date(2026, 1, 10)
    driven.save()
    AgreementFactory(car=driven, starts_on="2026-01-10", kind="owned", price="12000.00", payment=None, payments=None)
    found = why(keeper, FEBRUARY).moved
    assert found is not None
    assert (found.before.days, found.before.losing_days) == (22, 21)
    assert (found.after.days, found.after.losing_days) == (28, 28)
    of_loss = {one.factor: one for one in found.effects if one.category == "depreciation"}
    assert abs(of_loss[Factor.A_DAY].after / of_loss[Factor.A_DAY].before - 1) < Fraction(1, 50)
    assert of_loss[Factor.LOSING].pence > 0


@pytest.mark.parametrize(
    ("period", "than"),
    [
        (Period(date(2025, 12, 1), date(2026, 2, 28)), Period(date(2025, 9, 1), date(2025, 11, 30))),
        (Period(date(2026, 1, 8), date(2026, 1, 14)), Period(date(2026, 1, 1), date(2026, 1, 7))),
        (Period(date(2025, 4, 6), date(2026, 4, 5)), Period(date(2024, 4, 6), date(2025, 4, 5))),
        (Period(date(2026, 3, 1), date(2026, 3, 16)), Period(date(2026, 2, 13), date(2026, 2, 28))),
    ],
)
def test_other_days_are_held_against_as_many_before(driven: Car, keeper: Member, period: Period, than: Period) -> None:
    assert why(keeper, period).than == than


def test_it_says_which_of_the_two_is_not_known_and_why(driven: Car, keeper: Member) -> None:
    found = why(keeper, NOVEMBER)
    assert found.moved is None
    [lacking] = found.lacks
    assert lacking.period == OCTOBER
    assert "no fuel or charge logged before 31 October 2025" in lacking.reasons
    found = why(keeper, month_of(date(2026, 3, 1)))
    assert [one.period for one in found.lacks] == [month_of(date(2026, 3, 1))]
    assert found.than == FEBRUARY


def test_whoever_never_kept_a_car_has_nothing_that_moved(driven: Car, stranger: Member) -> None:
    assert own_books(stranger, FEBRUARY, None) is None


def test_another_member_is_told_nothing_of_the_keepers_costs(driven: Car, colleague: Member) -> None:
    """The colleague had the car in March alone: none of the keeper's months are theirs."""
    KeeperTimeFactory(car=driven, keeper=driven.keeper, from_on="2024-01-08", to_on="2026-02-28")
    KeeperTimeFactory(car=driven, keeper=colleague, from_on="2026-03-01")
    assert why(colleague, FEBRUARY).moved is None
    assert why(driven.keeper, FEBRUARY).moved is not None
    assert brim_by_brim(colleague, FEBRUARY) == []


def test_two_cars_are_taken_together_and_each_alone(driven: Car, keeper: Member) -> None:
    second = CarFactory(keeper=keeper, in_service_from=date(2025, 10, 1))
    drive(second)
    CostEntryFactory(car=second, amount="90.00", paid_on="2026-02-10", category="repairs")
    both, alone = why(keeper, FEBRUARY), why(keeper, FEBRUARY, car=driven)
    assert both.moved is not None
    assert alone.moved is not None
    assert both.moved.after.miles == 2 * alone.moved.after.miles
    assert both.moved.after.burned["litre"].thousandths == 100_000
    assert both.moved.after.days == 28
    assert "repairs" in both.moved.after.by_category
    assert "repairs" not in alone.moved.after.by_category


def test_the_queries_stay_the_same_whatever_is_compared(driven: Car, keeper: Member) -> None:
    def queries(period: Period) -> tuple[int, int]:
        counts = []
        for ask in (why, brim_by_brim):
            with CaptureQueriesContext(connection) as captured:
                ask(keeper, period)
            counts.append(len(captured))
        return counts[0], counts[1]

    one = queries(Period(date(2026, 1, 8), date(2026, 1, 14)))
    drive(CarFactory(keeper=keeper, in_service_from=date(2025, 10, 1)))
    assert queries(FEBRUARY) == one
    assert max(one) <= 14


# The page -----------------------------------------------------------------------------------------

PAGE = f"{reverse('costing:statement')}?first=2026-02-01&last=2026-02-28"


def test_the_page_says_why_it_moved_and_compares_with_other_days(everyone: dict[str, Client], driven: Car) -> None:
    page = shown(everyone["keeper"], PAGE)
    told = page.partition("Why it moved")[2]
    assert told.startswith(" £")
    assert " less than in January. 20 more lesson hours share what runs anyway: 86p less." in told
    # Each sentence stands apart from the next one.
    assert not re.search(r"(less|more|days)\.\S", told)
    assert "Category Price Use By itself Private miles Hours taught In all" in told
    assert "Price, use and volume, category by category" in told
    other = shown(everyone["keeper"], f"{PAGE}&than_first=2025-11-01&than_last=2025-11-30")
    assert " less than in November 2025. 20 more lesson hours share what runs anyway: " in other


def test_other_days_that_make_no_sense_are_asked_again_and_the_nearest_month_stands(
    everyone: dict[str, Client], driven: Car
) -> None:
    for asked in ("than_first=2026-01-31&than_last=2026-01-01", "than_first=x&than_last=", "than_first=2026-01-01"):
        page = shown(everyone["keeper"], f"{PAGE}&{asked}")
        assert " less than in January. " in page
        assert "Not compared yet" in page


def test_a_comparison_with_days_that_are_not_known_says_why(everyone: dict[str, Client], driven: Car) -> None:
    page = shown(everyone["keeper"], f"{PAGE}&than_first=2025-10-01&than_last=2025-10-31")
    assert "A lesson hour in October 2025 is not known: no fuel or charge logged before 31 October 2025" in page
    # What only the economy lacks is no reason why a lesson hour is not known.
    assert "no two full tanks" not in page


def test_months_beside_it_and_a_year_before_are_a_tap_away(everyone: dict[str, Client], driven: Car) -> None:
    page = everyone["keeper"].get(PAGE).content.decode()
    part = page[page.index('id="moved"') :]
    for month in ("2026-01-01", "2025-12-01", "2025-02-01"):
        assert f"than_first={month}&amp;than_last=" in part
    assert part[: part.index("<form")].count('aria-current="true"') == 1


def test_economy_stands_on_the_page_with_its_tables(everyone: dict[str, Client], driven: Car) -> None:
    page = shown(everyone["keeper"], PAGE)
    assert "Miles a gallon 54.6 over the last four fills." in page
    assert "28 February 2026 600 50.00 54.55 54.55" in page
    assert "A litre cost 132.0p at the last of these fills" in page


# Economy ------------------------------------------------------------------------------------------


def test_brims_and_prices_are_shown_newest_first_with_all_that_the_drawings_have(driven: Car, keeper: Member) -> None:
    [found] = brim_by_brim(keeper, FEBRUARY)
    [told] = economy.shown([found])
    assert (told.head, told.of, told.words.one) == ("Miles a gallon", "", "A litre")
    # 600 miles on 50 litres are 54.55 miles a gallon.
    assert told.rows[0] == ["28 February 2026", "600", "50.00", "54.55", "54.55"]
    assert len(told.rows) == 4
    assert told.chart is not None
    assert told.chart.title == "Miles a gallon: 54.6 over the last four fills"
    assert [brim.figure for brim in told.chart.brims] == [5_455] * 4
    assert told.prices[0] == ["28 February 2026", "132.0p"]
    assert told.price_chart is not None
    assert told.price_chart.title == told.price == "A litre cost 132.0p at the last of these fills"
    assert [one.tenths for one in told.price_chart.prices] == [1_200, 1_200, 1_200, 1_320]


def test_a_fall_is_below_the_band_of_the_brims_before_it(car: Car, keeper: Member) -> None:
    AgreementFactory(car=car, starts_on="2025-09-01", kind="weekly_rental", payment="70.00", payments=80)
    miles, day = 10_000, date(2025, 11, 1)
    for ran in (0, 400, 404, 396, 402, 398, 401, 399, 300, 290, 280, 290, 300):
        miles, day = miles + ran, day + timedelta(days=9)
        FillFactory(car=car, odometer=miles, filled_on=day, quantity="40.00", amount="50.00")
    # Forty days and half a year that end together say the same of the same five fills.
    for days in (40, 180):
        period = Period(day - timedelta(days=days), day)
        [told] = economy.shown(brim_by_brim(keeper, period))
        assert told.chart is not None
        assert told.chart.usual is not None
        finding = "33.2 over the last five fills, below the usual band of the 7 before"
        assert told.finding == finding
        assert told.chart.title == f"Miles a gallon: {finding}"
        assert len(told.rows) == 12


def test_a_mean_within_the_band_of_single_fills_is_not_called_usual_where_it_has_fallen(car: Car) -> None:
    stretches = [
        Stretch(date(2026, 1, week), date(2026, 1, week + 1), miles, 40_000)
        for week, miles in enumerate([500, 300] * 10 + [340] * 5, start=1)
    ]
    brims = brims_of(stretches, "litre", Period(date(2026, 1, 1), date(2026, 1, 31)))
    before, since = Economy("litre", 8_000, 800_000), Economy("litre", 1_700, 200_000)
    fall = Fall("litre", stretches[-5], stretches[-1], 5, 20, before, since, 150)
    bought = (Bought(date(2026, 1, 26), 1_400),)
    [steady] = economy.shown([CarEconomy(car, "litre", brims, bought, None)])
    assert steady.finding == "38.6 over the last five fills, within the usual band of the 20 before"
    [fallen] = economy.shown([CarEconomy(car, "litre", brims, bought, fall)])
    assert fallen.finding == "38.6 over the last five fills"
    assert fallen.chart is not None
    assert fallen.chart.title == "Miles a gallon: 38.6 over the last five fills"
    assert fallen.odd.startswith("Lower than its usual ups and downs")


@pytest.mark.parametrize("brimmed", [True, False])
def test_charge_has_its_own_words_and_without_two_brims_there_is_no_picture(
    car: Car, keeper: Member, brimmed: bool
) -> None:
    for number, day in enumerate((date(2026, 2, 3), date(2026, 2, 12), date(2026, 2, 20))):
        charge = {"unit": FillUnit.KWH, "quantity": "50.00", "amount": "0.00" if number else "15.00"}
        FillFactory(car=car, odometer=10_000 + 175 * number, filled_on=day, brimmed=brimmed, **charge)
    [told] = economy.shown(brim_by_brim(keeper, FEBRUARY))
    assert (told.head, told.words.one, told.words.several) == ("Miles a kWh", "A kWh", "kWh")
    assert [row[1] for row in told.prices] == ["0.0p", "0.0p", "30.0p"]
    assert bool(told.chart) is brimmed
    if told.chart:
        assert told.chart.title == "Miles a kWh: 3.5 over the last two charges"
        assert told.rows[0][3] == "3.50"


@pytest.mark.parametrize(("fills", "is_drawn"), [(1, (False, False)), (2, (False, True)), (3, (True, True))])
def test_one_point_alone_is_said_and_not_drawn(
    everyone: dict[str, Client], car: Car, keeper: Member, fills: int, is_drawn: tuple[bool, bool]
) -> None:
    for number in range(fills):
        day, bought = date(2026, 2, 3 + 7 * number), {"quantity": "40.00", "amount": "50.00"}
        FillFactory(car=car, odometer=10_000 + 400 * number, filled_on=day, **bought)
    [told] = economy.shown(brim_by_brim(keeper, FEBRUARY))
    assert (told.chart is not None, told.price_chart is not None) == is_drawn
    assert (len(told.rows), len(told.prices)) == (fills - 1, fills)
    page = shown(everyone["keeper"], PAGE)
    assert ("Brimmed on" in page) is (fills > 1)
    assert f"A litre cost 125.0p at the {'last of these fills' if fills > 1 else 'only fill of these days'}" in page


def test_cars_are_named_where_there_are_several(driven: Car, keeper: Member) -> None:
    second = CarFactory(keeper=keeper, in_service_from=date(2025, 10, 1), registration="QA52XYZ")
    drive(second)
    assert [one.of for one in economy.shown(brim_by_brim(keeper, FEBRUARY))] == ["QA51 ABC", "QA52 XYZ"]
    assert [one.of for one in economy.shown(brim_by_brim(keeper, FEBRUARY, car=second))] == [""]


def test_a_car_that_was_not_filled_then_has_no_picture(driven: Car, keeper: Member) -> None:
    assert brim_by_brim(keeper, Period(date(2026, 2, 2), date(2026, 2, 20))) == []


def test_only_five_years_are_shown(car: Car, keeper: Member) -> None:
    for number in range(7 * 4):
        day = date(2019, 1, 1) + timedelta(days=91 * number)
        FillFactory(car=car, odometer=10_000 + 400 * number, filled_on=day, quantity="40.00", amount="50.00")
    car.in_service_from = date(2019, 1, 1)
    car.save()
    [told] = economy.shown(brim_by_brim(keeper, Period(date(2019, 1, 1), date(2026, 2, 28))))
    assert told.chart is not None
    assert told.chart.brims[0].on > date(2021, 2, 1)
    assert told.chart.usual is None
