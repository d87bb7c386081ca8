"""What an offer should have cost by a day, each figure worked out by hand."""

from datetime import date
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costing.choosing.core.case import Case, Fuel, Offer, Running, Spread, Uncertain, Use
from costing.choosing.core.figures import figures
from costing.choosing.core.so_far import Expected, expected_by, lesson_minutes_by, miles_by

USE = Use(date(2027, 2, 1), 24, Fraction(24_000), Fraction(3_000), Fraction(26), Fraction(46), 38_00)
RUNNING = Running(fuel=(Fuel(Fraction(12)),), insurance=(900_00, 800_00), repairs_per_year=240_00, mot=54_85)
HIRE = Offer("Hire", "contract_hire", deposit=600_00, payment=300_00, payments=24, damage=200_00)


def likely(on: date, offer: Offer = HIRE, running: Running = RUNNING) -> dict[str, int]:
    case = Case(USE, running, (offer,))
    return {part: one.likely for part, one in expected_by(case, offer.name, on).items()}


def test_on_the_first_day_only_what_is_paid_at_the_start_is_expected() -> None:
    assert likely(date(2027, 2, 1)) == {
        "deposit": 600_00,
        "payments": 0,
        "fees": 0,
        "fuel": 0,
        "insurance": 900_00,
        "mot": 0,
        "repairs": 0,
    }


def test_after_a_week_a_quarter_of_february_is_driven() -> None:
    # 2,000 miles at 12p a month are £240, and repairs £20: a quarter of each after 7 of 28 days.
    week = likely(date(2027, 2, 8))
    assert (week["fuel"], week["repairs"], week["payments"]) == (60_00, 5_00, 0)


@pytest.mark.parametrize(
    ("on", "payments", "fuel", "insurance", "mot"),
    [
        (date(2027, 2, 28), 0, 231_42, 900_00, 0),
        (date(2027, 3, 1), 300_00, 240_00, 900_00, 0),
        (date(2028, 1, 31), 11 * 300_00, 11 * 240_00 + 232_25, 900_00, 0),
        # The first year's MOT and the second year's premium.
        (date(2028, 2, 1), 12 * 300_00, 12 * 240_00, 1_700_00, 54_85),
        # The end of the horizon, and long after it.
        (date(2029, 2, 1), 24 * 300_00, 24 * 240_00, 1_700_00, 109_70),
        (date(2031, 7, 1), 24 * 300_00, 24 * 240_00, 1_700_00, 109_70),
    ],
)
def test_sums_fall_due_at_the_end_of_their_month(on: date, payments: int, fuel: int, insurance: int, mot: int) -> None:
    found = likely(on)
    assert (found["payments"], found["fuel"], found["insurance"], found["mot"]) == (payments, fuel, insurance, mot)


def test_a_weekly_payment_falls_due_at_the_end_of_its_week() -> None:
    weekly = Offer("Weekly", "weekly_rental", payment=130_00, payments=104, frequency="week")
    paid = [likely(date(2027, 2, day), weekly)["payments"] for day in (1, 7, 8, 14, 15)]
    assert paid == [0, 0, 130_00, 130_00, 260_00]
    assert likely(date(2031, 1, 1), weekly)["payments"] == 104 * 130_00


def test_what_only_leaving_brings_is_left_out() -> None:
    by_end = likely(date(2029, 2, 1), HIRE._replace(deposit_comes_back=True))
    assert {"damage", "excess_miles", "deposit_back", "given_back", "value_back"}.isdisjoint(by_end)
    owned = Offer("Own", "owned", price=9_000_00, value_at_horizon=5_000_00)
    assert likely(date(2029, 2, 1), owned)["price"] == 9_000_00


def test_what_is_not_told_has_no_line() -> None:
    assert {"tyres", "servicing", "fit_out"}.isdisjoint(likely(date(2027, 3, 1)))


def test_ranges_that_bear_on_the_offer_give_the_least_and_the_most() -> None:
    other = Offer("Other", "owned", price=9_000_00)
    uncertain = (
        Uncertain("repairs_per_year", (Spread(Fraction(120_00), Fraction(240_00), Fraction(960_00)),)),
        Uncertain("payment", (Spread(Fraction(290_00), Fraction(300_00), Fraction(330_00)),), "Hire"),
        Uncertain("value_at_horizon", (Spread(Fraction(1), Fraction(2), Fraction(3)),), "Other"),
        Uncertain("months", (Spread(Fraction(6), Fraction(24), Fraction(30)),)),
        Uncertain("weeks_off", (Spread(Fraction(0), Fraction(4), Fraction(30)),)),
    )
    case = Case(USE, RUNNING, (HIRE, other._replace(value_at_horizon=2)), uncertain=uncertain)
    found = expected_by(case, "Hire", date(2027, 8, 1))
    assert found["repairs"] == Expected(60_00, 120_00, 480_00)
    assert found["payments"] == Expected(6 * 290_00, 6 * 300_00, 6 * 330_00)
    assert found["insurance"] == Expected(900_00, 900_00, 900_00)


def test_a_range_of_miles_moves_fuel_and_the_miles() -> None:
    miles = Uncertain("miles_per_year", (Spread(Fraction(20_000), Fraction(24_000), Fraction(30_000)),))
    case = Case(USE, RUNNING, (HIRE,), uncertain=(miles,))
    assert expected_by(case, "Hire", date(2028, 2, 1))["fuel"] == Expected(2_400_00, 2_880_00, 3_600_00)
    assert miles_by(case, date(2028, 2, 1)) == Expected(20_000, 24_000, 30_000)


def test_miles_and_lessons_by_a_day() -> None:
    case = Case(USE, RUNNING, (HIRE,))
    assert miles_by(case, date(2027, 2, 1)) == Expected(0, 0, 0)
    # 2,000 miles in February: 500 after a week.
    assert miles_by(case, date(2027, 2, 8)) == Expected(500, 500, 500)
    # 26 x 46 = 1,196 hours a year.
    assert lesson_minutes_by(case, date(2028, 2, 1)) == 1_196 * 60
    assert lesson_minutes_by(case, date(2040, 2, 1)) == 2 * 1_196 * 60


def test_an_agreement_from_the_31st_keeps_to_the_ends_of_short_months() -> None:
    case = Case(USE._replace(starts_on=date(2027, 1, 31)), RUNNING, (HIRE,))
    on_28 = expected_by(case, "Hire", date(2027, 2, 28))
    assert (on_28["payments"].likely, on_28["fuel"].likely) == (300_00, 240_00)


offers = st.sampled_from(
    [
        HIRE,
        Offer("Weekly", "weekly_rental", payment=137_50, payments=78, frequency="week", damage=0),
        Offer("HP", "hire_purchase", None, 9_999_99, 1_000_00, 245_67, 48, fees=99_00, final_payment=10_00),
        Offer("Own", "owned", price=7_777_77, value_at_horizon=3_000_01),
    ]
)


@given(offers, st.integers(1, 60), st.dates(date(2026, 1, 1), date(2028, 12, 31)))
def test_at_the_horizon_all_but_the_way_out_is_expected(offer: Offer, months: int, starts_on: date) -> None:
    case = Case(USE._replace(months=months, starts_on=starts_on), RUNNING, (offer,))
    told = figures(case, offer)
    way_out: dict[str, Any] = {"value_back", "settlement", "half_rule", "damage", "early_exit", "given_back"}
    whole = {part: pence for part, pence in told.flow.parts.items() if part not in way_out}
    found = {part: one.likely for part, one in expected_by(case, offer.name, date(2060, 1, 1)).items() if one.likely}
    assert found == whole


@given(offers, st.lists(st.dates(date(2027, 2, 1), date(2029, 3, 1)), min_size=2, max_size=2).map(sorted))
def test_nothing_expected_ever_falls(offer: Offer, days: list[date]) -> None:
    before, after = (expected_by(Case(USE, RUNNING, (offer,)), offer.name, day) for day in days)
    assert all(before[part].likely <= after[part].likely for part in before)
