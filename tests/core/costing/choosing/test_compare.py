"""Offers held against each other: worked examples, each figure reckoned by hand."""

from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

import numpy_financial  # type: ignore[import-untyped]
import pytest

from costing.choosing.core.case import Case, Scenario, WhatIf
from costing.choosing.core.case import scenario as scene_of
from costing.choosing.core.cash_flow import items_of
from costing.choosing.core.figures import Dearest, Figures, compare, what_if
from costing.choosing.core.ways_out import CannotBeHandedBack, agreement_of
from costing.choosing.document.reading import read_document
from costing.core.money import divide_half_up
from costing.core.records import Agreement
from tests.core.costing.choosing.cases import HIRE, OWNED, PCP, PURCHASE, RENTAL, USE, Table, case

#: Nothing to run it with, so that only the offer itself costs anything.
NOTHING: Table = {}


def figures(offer: Table, running: Table | None = None, **use: Any) -> Figures:
    [one] = compare(case(offer, running=NOTHING if running is None else running, **use)).figures
    return one


def changed(of: Case) -> Figures:
    [one] = what_if(of, of.what_ifs[0]).figures
    return one


def test_a_weekly_rental_over_two_years() -> None:
    [rental] = compare(case(RENTAL)).figures

    # 104 x 129.00 and 350.00 at the end; 48,000 miles at 13.5p.
    assert rental.flow.parts == {"payments": 1_341_600, "damage": 35_000, "fuel": 648_000}
    assert rental.total == 2_024_600
    assert rental.up_front == 0
    assert rental.per_week == 19_467  # of 104 weeks
    assert rental.per_mile == 42
    assert rental.per_lesson_hour == 846  # of 2,392 hours
    assert rental.hours_a_week == Decimal("5.79")  # 20,246.00 / (38.00 x 92 weeks)
    assert rental.dearest == Dearest(24, 4 * 12_900 + 27_000 + 35_000)
    # 1 - 0.26 x 21,000 / 24,000 of it: 15,640.035, half up.
    assert rental.after_tax == 1_564_004
    assert (rental.apr, rental.present_value) == (None, 2_024_600)


def test_a_pcp_left_inside_its_term_is_settled_and_sold() -> None:
    [pcp] = compare(case(PCP)).figures

    rate = numpy_financial.rate(36, -189, 10_600, -5_400)
    settlement = round(-100 * numpy_financial.pv(rate, 12, 189, 5_400))
    assert pcp.flow.parts == {
        "deposit": 120_000,
        "payments": 24 * 18_900,
        "fit_out": 44_000,
        "insurance": 91_000 + 79_000,
        "vehicle_tax": 2 * 19_500,
        "breakdown": 2 * 6_000,
        "mot": 2 * 5_485,
        "servicing": 52_000,
        "repairs": 80_000,
        "tyres": 61_440,
        "fuel": 648_000,
        "settlement": settlement,
        "value_back": -690_000,
    }
    assert pcp.up_front == 120_000 + 44_000 + 91_000 + 19_500 + 6_000
    assert pcp.total == 1_001_010 + settlement
    assert pcp.apr == Decimal(str(round(100 * ((1 + rate) ** 12 - 1), 1)))


def test_six_weeks_off_take_their_miles_and_hours_but_no_payment() -> None:
    rental = changed(case(RENTAL, what_if={"weeks_off": {"from_week": 20, "weeks": 6}}))

    assert rental.flow.parts == {"payments": 1_341_600, "damage": 35_000, "fuel": 605_739}  # 86 of 92 weeks
    assert rental.per_week == 19_061
    assert rental.per_lesson_hour == 887  # of 2,236 hours
    assert rental.per_mile == 44
    assert rental.hours_a_week == Decimal("5.67")


def test_a_rental_that_pauses_asks_for_six_payments_less() -> None:
    ill = {"weeks_off": {"from_week": 20, "weeks": 6}}

    assert changed(case(RENTAL | {"pauses_when_off": True}, what_if=ill)).flow.parts["payments"] == 98 * 12_900


def test_a_monthly_hire_that_pauses_asks_for_six_weeks_less() -> None:
    hire = changed(case(HIRE | {"pauses_when_off": True}, what_if={"weeks_off": {"from_week": 20, "weeks": 6}}))

    # 6 / (52/12) months: the one that week 20 falls in, and 5/13 of the next.
    assert hire.flow.parts["payments"] == 24 * 31_000 - 31_000 - 11_923


def test_a_monthly_hire_that_pauses_to_its_end_asks_for_every_week_off_less() -> None:
    def hire(*, pauses: bool) -> Figures:
        off = {"weeks_off": {"from_week": 100, "weeks": 5}}
        return changed(case(HIRE | {"pauses_when_off": pauses}, what_if=off, starts_on=date(2026, 2, 1)))

    # Week 100 ends in the last month, which 5 / (52/12) months do not fit into: they begin a month before.
    less = [
        on - paused for on, paused in zip(hire(pauses=False).flow.months, hire(pauses=True).flow.months, strict=True)
    ]
    assert less == [0] * 23 + [31_000, 4_769]


def test_weeks_off_after_the_last_payment_of_credit_take_none_away() -> None:
    short = PURCHASE | {"payments": 12, "pauses_when_off": True}

    for weeks_off, asked in ({"from_week": 60, "weeks": 6}, 12), ({"from_week": 52, "weeks": 6}, 12 - Fraction(3, 13)):
        paid = changed(case(short, what_if={"weeks_off": weeks_off})).flow.parts["payments"]
        assert paid == divide_half_up(asked * 25_200, 1)


def test_a_rental_left_after_nine_months_costs_its_notice() -> None:
    rental = changed(case(RENTAL, what_if={"leave_at_month": 9}))

    assert rental.flow.parts == {"payments": 39 * 12_900, "damage": 35_000, "fuel": 243_000, "early_exit": 8 * 12_900}
    assert len(rental.flow.months) == 10
    assert rental.total == 884_300


def test_more_miles_one_large_repair_and_damage() -> None:
    hire = changed(case(HIRE, what_if={"more_miles": Decimal("0.2"), "one_repair": 900, "damage": 200}))

    assert hire.flow.parts["fuel"] == 777_600
    assert hire.flow.parts["excess_miles"] == 17_600 * 9
    assert hire.flow.parts["repairs"] == 80_000 + 90_000
    assert hire.flow.parts["damage"] == 20_000


def test_a_what_if_that_changes_nothing_is_the_base_case() -> None:
    base = case(OWNED, PCP, RENTAL, HIRE, PURCHASE)

    assert what_if(base, WhatIf("As planned")) == ("As planned", compare(base).figures)
    assert compare(base).name == ""


def test_ranking_is_cheapest_first_and_equals_as_given() -> None:
    twin = RENTAL | {"name": "The same again"}

    outcome = compare(case(RENTAL, OWNED, twin))
    assert outcome.ranking == (OWNED["name"], RENTAL["name"], twin["name"])


def test_present_value_counts_each_month_by_its_distance() -> None:
    car = {"name": "Estate", "kind": "owned", "price": 1_000, "value_at_horizon": 550}

    assert figures(car, months=12, discount_rate=Decimal("0.1")).present_value == 50_000  # 550 / 1.1 comes back
    assert figures(car, months=12).present_value == 45_000


def test_a_hire_handed_back_with_miles_to_spare_pays_nothing_for_them() -> None:
    assert "excess_miles" not in figures(HIRE, miles_per_year=20_000).flow.parts
    assert figures(HIRE, miles_per_year=20_001).flow.parts["excess_miles"] == 18


def test_what_is_shared_over_the_months_adds_up_to_its_sum() -> None:
    running = {"servicing_per_year": Decimal("100.00")}

    flow = figures({"name": "Estate", "kind": "owned", "price": 1}, running, months=12).flow
    assert flow.months == (100, 833, 833, 834, 833, 833, 834, 833, 833, 834, 833, 833, 834)


def test_no_lesson_and_no_price_leave_nothing_to_divide_by() -> None:
    idle = figures(OWNED, lesson_hours_per_week=0, lesson_hour_price=0)

    assert (idle.per_lesson_hour, idle.hours_a_week) == (None, None)


def test_no_more_than_all_miles_are_private() -> None:
    estate = changed(case(OWNED, what_if={"more_miles": Decimal("-0.9")}))

    assert estate.after_tax == estate.total


def test_weeks_off_for_all_the_time_taught_leave_no_mile() -> None:
    of = case(RENTAL, what_if={"weeks_off": {"from_week": 1, "weeks": 104}})

    rental = changed(of)
    assert (rental.per_mile, rental.per_lesson_hour) == (None, None)
    assert "fuel" not in rental.flow.parts
    # 13 months have 49 5/6 weeks that are taught: 50 off are all of them.
    for weeks in (50, 56):
        ill = case(RENTAL, what_if={"weeks_off": {"from_week": 1, "weeks": weeks}}, months=13)
        assert changed(ill).per_mile is None


def test_payments_pause_in_weeks_off_that_would_not_have_been_taught_too() -> None:
    of = case(RENTAL | {"pauses_when_off": True}, what_if={"weeks_off": {"from_week": 1, "weeks": 104}})

    assert changed(of).flow.parts == {"damage": 35_000}


def test_weeks_off_after_leaving_change_nothing() -> None:
    left = {"leave_at_month": 3}

    ill_later = case(RENTAL, what_if=left | {"weeks_off": {"from_week": 20, "weeks": 6}})
    assert changed(ill_later) == changed(case(RENTAL, what_if=left))


def test_a_car_is_tested_from_the_day_it_is_three_years_old() -> None:
    running = {"mot": Decimal("54.85")}

    def tests(first_registered: date) -> int:
        flow = figures(OWNED | {"first_registered": first_registered}, running, months=36).flow
        return flow.parts.get("mot", 0) // 5_485

    assert tests(date(2025, 1, 1)) == 3  # three years old on 1 January 2028, the end of month 12
    assert tests(date(2025, 1, 2)) == 2
    assert tests(date(2027, 1, 1)) == 1
    assert tests(date(2027, 1, 2)) == 0


def test_the_agreement_that_an_offer_would_become() -> None:
    of = case(PURCHASE)
    assert agreement_of(of.offers[0], of.scenario) == Agreement(
        date(2027, 1, 1), "hire_purchase", 950_000, 150_000, 25_200, 36, "month", 1_000, 15_000
    )


def test_apr_of_a_tenth_a_month_by_hand() -> None:
    # 1,000 lent and 1,100 paid a month later: 1.1 to the power of twelve is 3.138428.
    loan = PURCHASE | {"price": 1_000, "deposit": 0, "payment": 1_100, "payments": 1, "final_payment": 0, "fees": 0}
    assert compare(case(loan)).figures[0].apr == Decimal("213.8")


def test_the_dearest_month_of_an_owned_car_is_the_one_in_which_it_is_bought() -> None:
    assert compare(case(OWNED, running={})).figures[0].dearest == Dearest(0, 720_000)


def test_apr_is_left_out_where_no_rate_answers() -> None:
    # A thousand times what was lent in each of 52 weeks: more than a float can say a year.
    loan = PURCHASE | {
        "price": 11,
        "deposit": 10,
        "payment": 999_999,
        "frequency": "week",
        "final_payment": 0,
        "fees": 0,
    }

    assert figures(loan).apr is None
    nothing_lent = case(PURCHASE).offers[0]._replace(deposit=int(PURCHASE["price"] * 100))
    assert compare(case(PURCHASE)._replace(offers=(nothing_lent,))).figures[0].apr is None


def test_a_settlement_where_nothing_was_lent_is_what_is_still_to_pay() -> None:
    nothing_lent = case(PURCHASE).offers[0]._replace(deposit=950_000)

    [one] = compare(case(PURCHASE)._replace(offers=(nothing_lent,))).figures
    assert one.flow.parts["settlement"] == 12 * 25_200 + 1_000


@pytest.mark.parametrize(
    ("terms", "reason"),
    [
        ({"payments": 12}, "is handed back after 12 months, which leaves no car for the rest of the 24 months"),
        ({"payments": 103, "frequency": "week"}, "is handed back after 103 weeks"),
    ],
)
def test_a_car_handed_back_before_the_horizon_is_refused_with_its_reason(terms: Table, reason: str) -> None:
    pcp = case(PCP | {"payments": 104, "at_end": "hand_back"}).offers[0]._replace(**terms)

    with pytest.raises(CannotBeHandedBack, match=reason):
        items_of(pcp, case(PCP).scenario)


def test_two_years_of_weekly_payments_hand_a_car_back_at_its_end() -> None:
    pcp = PCP | {"payments": 104, "frequency": "week", "at_end": "hand_back", "damage": Decimal("80.00")}

    parts = figures(pcp).flow.parts
    assert parts == {"deposit": 120_000, "payments": 104 * 18_900, "excess_miles": 28_000 * 9, "damage": 8_000}


def scenario(**use: Any) -> Scenario:
    taken = read_document({"use": USE | use, "offer": [OWNED]}).case
    return scene_of(taken.use, taken.running)


def test_a_short_quarter_has_thirteen_weeks() -> None:
    quarter = scenario(starts_on=date(2027, 2, 1), months=3)

    assert quarter.whole_weeks == 13
    assert quarter.months_of_weeks(12, 13) == (3, 3)  # though the thirteenth ends two days later
    assert [quarter.month_of_week(week) for week in (0, 4, 5)] == [0, 1, 2]
