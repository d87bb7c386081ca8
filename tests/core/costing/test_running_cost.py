"""One car by hand: every category, what it was used for, and the cost of each use."""

from dataclasses import replace
from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest

from costing.core.keeping import days_with_a_car
from costing.core.missing import Reason
from costing.core.periods import months_ending, months_within
from costing.core.records import (
    Agreement,
    CarBook,
    Cost,
    Fill,
    Logged,
    Period,
    Reading,
    Service,
    Teaching,
    Valuation,
)
from costing.core.running_cost import (
    RunningCost,
    business_share,
    monthly_tallies,
    running_cost,
)

RATE = Decimal("0.15")
NEW_YEAR = date(2027, 1, 1)
JANUARY = Period(NEW_YEAR, date(2027, 1, 31))
FEBRUARY = Period(date(2027, 2, 1), date(2027, 2, 28))
YEAR = Period(NEW_YEAR, date(2027, 12, 31))


def fill(day: date, miles: int, pence: int) -> Fill:
    return Fill(day, miles, 40_000, "litre", pence, brimmed=True, gap_before=False)


BOOK = CarBook(
    service=Service(NEW_YEAR, None),
    readings=(Reading(NEW_YEAR, 10_000),),
    costs=(
        Cost(date(2026, 12, 20), "insurance", 48_000, NEW_YEAR, date(2027, 12, 31)),
        Cost(date(2027, 1, 10), "tyres", 32_000, covers_miles=25_000),
        Cost(date(2027, 2, 5), "repairs", 12_500),
        Cost(date(2027, 2, 20), "repairs", -2_500),
        Cost(date(2027, 2, 1), "finance", 60_000),
    ),
    fills=(
        fill(NEW_YEAR, 10_000, 5_000),
        fill(date(2027, 1, 31), 13_000, 6_200),
        fill(date(2027, 2, 14), 14_400, 5_600),
    ),
    teaching=(Teaching(date(2027, 1, 18), date(2027, 2, 14), 56, 5_040, 280),),
    agreements=(Agreement(NEW_YEAR, "hire_purchase", 1_000_000, 900_000, 55_000, 2, fees=5_000),),
    valuations=(Valuation(date(2027, 2, 10), 992_000),),
    logged=(Logged(1, NEW_YEAR, date(2027, 2, 14)),),
)


def cost_of(book: CarBook, period: Period) -> RunningCost:
    return running_cost(book, period, depreciation_rate=RATE)


def test_january_by_hand() -> None:
    january = cost_of(BOOK, JANUARY)

    assert january.period == JANUARY
    assert january.by_category == {
        "depreciation": 6_000,  # 80.00 lost over the 40 days to 10 February, 30 of them in January
        "fuel": 11_200,  # the first fill: its own day alone; the second: the days since
        "insurance": 4_076,  # 48,000 x 31 / 365
        "interest": 10_000,  # the first instalment's, 1 to 31 January
        "tyres": 2_688,  # 2,100 miles since 10 January: 32,000 x 2,100 / 25,000
    }
    assert january.true_cost == 33_964
    assert january.money_out == 32_000 + 5_000 + 6_200
    # 10,000 to 13,000; half of the 28 days taught: 28 lessons, 42 hours, 140 private miles.
    assert (january.miles, january.private_miles) == (3_000, 140)
    assert (january.lessons, january.minutes) == (28, 2_520)
    assert january.business_share == Fraction(2_860, 3_000)
    assert january.cost_per_mile == 11  # 33,964 / 3,000 = 11.32
    assert january.cost_per_lesson_hour == 771  # 33,964 x 2,860 / 3,000 / 42 = 770.93
    assert january.cost_per_lesson == 1_156  # ... / 28 = 1,156.39
    assert january.estimated == ()
    assert january.missing == ()
    assert january.is_known


def test_february_by_hand() -> None:
    february = cost_of(BOOK, FEBRUARY)

    assert february.by_category == {
        # 2,000 to 10 February, and 992,000 less 15 % a year for 18 days: 992,000 x 0.9920174.
        "depreciation": 2_000 + 7_919,
        "fuel": 5_600,
        "insurance": 3_682,
        "interest": 5_000,
        "repairs": 10_000,
        "tyres": 1_792,  # 3,500 miles since 10 January make 4,480, less January's 2,688
    }
    assert february.money_out == 12_500 - 2_500 + 60_000 + 5_600
    assert february.estimated == ("depreciation",)
    assert (february.miles, february.litre_economy) == (1_400, ("litre", 1_400, 40_000))
    assert february.kwh_economy is None
    # Nothing is logged after the 14th, so what the fuel of the whole month cost is not known.
    assert february.missing == (
        (Reason.NO_READING_AFTER, date(2027, 2, 14)),
        (Reason.NO_FILL_AFTER, date(2027, 2, 14)),
        (Reason.NO_LESSONS_AFTER, date(2027, 2, 14)),
    )
    assert (february.cost_per_mile, february.cost_per_lesson_hour, february.cost_per_lesson) == (None, None, None)
    assert february.known_until == date(2027, 2, 14)


def test_money_out_counts_the_first_day_and_the_last() -> None:
    costs = tuple(Cost(day, "repairs", pence) for day, pence in ((NEW_YEAR, 100), (date(2027, 1, 31), 20)))
    fills = tuple(fill(day, 10_000, pence) for day, pence in ((NEW_YEAR, 3_000), (date(2027, 1, 31), 400)))

    assert cost_of(CarBook(BOOK.service, costs=costs, fills=fills), JANUARY).money_out == 3_520


def test_a_car_that_takes_charge_has_an_economy_of_its_own() -> None:
    charged = tuple(
        Fill(day, miles, 40_000, "kwh", 900, brimmed=True, gap_before=False)
        for day, miles in ((NEW_YEAR, 10_000), (date(2027, 1, 20), 10_140))
    )
    january = cost_of(CarBook(BOOK.service, fills=charged), JANUARY)

    assert (january.kwh_economy, january.litre_economy) == (("kwh", 140, 40_000), None)


def test_nothing_before_the_book_begins() -> None:
    before = cost_of(BOOK, Period(date(2026, 10, 1), date(2026, 10, 31)))

    assert (before.by_category, before.true_cost, before.money_out, before.miles) == ({}, 0, 0, 0)


def test_cover_by_miles_is_charged_from_the_day_after_it_was_paid() -> None:
    day_paid, day_after = date(2027, 1, 10), date(2027, 1, 11)

    assert "tyres" not in cost_of(BOOK, Period(day_paid, day_paid)).by_category
    # 100 of 25,000 miles.
    assert cost_of(BOOK, Period(day_after, day_after)).by_category["tyres"] == 128


def test_nothing_is_estimated_from_the_day_after_the_car_left() -> None:
    left = BOOK._replace(service=Service(NEW_YEAR, date(2027, 2, 28)))
    last_day, day_after = Period(date(2027, 2, 28), date(2027, 2, 28)), date(2027, 3, 1)

    assert cost_of(left, last_day).estimated == ("depreciation",)
    assert cost_of(left, Period(day_after, day_after)).estimated == ()


def test_instalments_as_paid_are_money_out_only() -> None:
    rental = Cost(date(2027, 1, 7), "rental", 12_900)
    paid = cost_of(CarBook(BOOK.service, costs=(rental,)), JANUARY)

    assert (paid.by_category, paid.money_out) == ({}, 12_900)


def test_hire_is_charged_by_the_days_of_its_payments() -> None:
    hire = Agreement(date(2027, 1, 15), "contract_hire", deposit=89_000, payment=31_000, payments=3, fees=3_100)

    # 15 to 31 January are 17 of the 31 days of the first payment, and 17 of the 90 of the term.
    of_january = 34_100 * 17 // 31 + 89_000 * 17 // 90
    assert cost_of(CarBook(BOOK.service, agreements=(hire,)), JANUARY).by_category == {"rental": of_january}


def test_interest_and_hire_go_on_after_the_car_has_left() -> None:
    left = Service(NEW_YEAR, date(2027, 1, 31))
    gone = cost_of(CarBook(left, agreements=BOOK.agreements, valuations=BOOK.valuations), FEBRUARY)

    # The two known values still share their days; the estimate ended with the service.
    assert gone.by_category == {"depreciation": 2_000, "interest": 5_000}
    assert gone.estimated == ()


def test_a_category_that_comes_to_nothing_is_left_out() -> None:
    refunded = CarBook(
        BOOK.service,
        costs=(Cost(date(2027, 1, 5), "repairs", 900), Cost(date(2027, 1, 9), "repairs", -900)),
    )

    assert cost_of(refunded, JANUARY).by_category == {}


def test_costs_of_each_use_are_rounded_half_up_once() -> None:
    half = replace(cost_of(BOOK, JANUARY), by_category={"other": 5}, miles=2, private_miles=1, lessons=1, minutes=60)

    assert half.cost_per_mile == 3  # 2.5
    assert half.cost_per_lesson == 3  # 5 x 1/2
    assert half.cost_per_lesson_hour == 3


def test_more_refunded_than_paid_is_a_cost_below_zero() -> None:
    refunded = replace(cost_of(BOOK, JANUARY), by_category={"other": -5}, miles=2, private_miles=0)

    assert refunded.cost_per_mile == -3


@pytest.mark.parametrize("miles", [None, 0])
def test_without_miles_there_is_no_cost_of_any_use(miles: int | None) -> None:
    still = replace(cost_of(BOOK, JANUARY), miles=miles, private_miles=0)

    assert (still.business_share, still.cost_per_mile) == (None, None)
    assert (still.cost_per_lesson_hour, still.cost_per_lesson) == (None, None)


def test_without_teaching_there_is_still_a_cost_a_mile() -> None:
    idle = replace(cost_of(BOOK, JANUARY), lessons=0, minutes=0)

    assert (idle.cost_per_lesson_hour, idle.cost_per_lesson, idle.cost_per_mile) == (None, None, 11)


@pytest.mark.parametrize(
    ("miles", "private", "share"),
    [
        (100, 25, Fraction(3, 4)),
        (100, 100, Fraction(0)),
        (100, 101, None),
        (1, 0, Fraction(1)),
        (0, 0, None),
        (-5, 0, None),
    ],
)
def test_business_share(miles: int, private: int, share: Fraction | None) -> None:
    assert business_share(miles, private) == share


def test_a_period_must_not_end_before_it_begins() -> None:
    backwards = Period(date(2027, 2, 1), date(2027, 1, 31))

    with pytest.raises(ValueError, match="cannot end on 2027-01-31"):
        running_cost(BOOK, backwards, depreciation_rate=RATE)
    with pytest.raises(ValueError, match="cannot end on 2027-01-31"):
        monthly_tallies(BOOK, [JANUARY, backwards], depreciation_rate=RATE)


def test_a_rate_of_depreciation_in_per_cent_is_refused() -> None:
    with pytest.raises(ValueError, match="from 0 to 1"):
        running_cost(BOOK, FEBRUARY, depreciation_rate=Decimal(15))


def test_tallies_are_the_reports_of_their_months() -> None:
    january, february = monthly_tallies(BOOK, [JANUARY, FEBRUARY], depreciation_rate=RATE)

    assert january == (31, 33_964, 3_000, 140, 2_520, 28, True, False)
    assert february == (28, cost_of(BOOK, FEBRUARY).true_cost, 1_400, 140, 2_520, 28, False, False)


def test_tallies_come_in_the_order_asked_for_with_gaps_and_overlaps() -> None:
    year, february, day = monthly_tallies(BOOK, [YEAR, FEBRUARY, Period(NEW_YEAR, NEW_YEAR)], depreciation_rate=RATE)

    assert year.true_cost == cost_of(BOOK, YEAR).true_cost
    assert february.true_cost == cost_of(BOOK, FEBRUARY).true_cost
    assert day.true_cost == cost_of(BOOK, Period(NEW_YEAR, NEW_YEAR)).true_cost


def test_twelve_months_add_up_to_their_year() -> None:
    year = months_ending(date(2027, 12, 1), 12)
    months = monthly_tallies(BOOK, months_within(year), depreciation_rate=RATE)

    assert year == YEAR
    assert sum(month.true_cost for month in months) == cost_of(BOOK, YEAR).true_cost
    assert sum(month.service_days for month in months) == 365


def test_no_months_have_no_tallies() -> None:
    assert monthly_tallies(BOOK, [], depreciation_rate=RATE) == []


def test_a_car_without_readings_tallies_no_miles() -> None:
    unread = CarBook(BOOK.service, costs=BOOK.costs)

    assert monthly_tallies(unread, [JANUARY], depreciation_rate=RATE) == [(31, 4_076, 0, 0, 0, 0, False, False)]


@pytest.mark.parametrize(
    ("services", "count"),
    [
        ([Service(date(2026, 5, 1), None)], 31),
        ([Service(date(2027, 1, 20), None)], 12),
        ([Service(date(2026, 5, 1), date(2027, 1, 3))], 3),
        ([Service(date(2026, 5, 1), date(2026, 12, 31)), Service(date(2027, 2, 1), None)], 0),
        # Two cars on the same days are days once; a car between two others fills their gap.
        ([Service(date(2027, 1, 5), date(2027, 1, 20)), Service(NEW_YEAR, date(2027, 1, 10))], 20),
        ([Service(date(2027, 1, 2), date(2027, 1, 30)), Service(date(2027, 1, 3), date(2027, 1, 9))], 29),
        ([Service(NEW_YEAR, date(2027, 1, 10)), Service(date(2027, 1, 21), None)], 21),
        ([Service(NEW_YEAR, None), Service(NEW_YEAR, date(2027, 1, 10))], 31),
        ([], 0),
    ],
)
def test_days_in_service_of_some_cars_together(services: list[Service], count: int) -> None:
    assert days_with_a_car([CarBook(service) for service in services], JANUARY) == count
