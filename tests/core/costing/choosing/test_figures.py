"""The figures of an offer, by hand, and those that can't be said because something isn't told."""

from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costing.choosing.core.case import Case, Chance, Offer, Running, Use, WeeksOff, WhatIf
from costing.choosing.core.figures import Figures, MonthSum, figures, takings_lost
from costing.choosing.core.ways_out import CannotBeHandedBack
from tests.core.costing.choosing.cases import (
    ALL,
    HIRE,
    OWNED,
    PCP,
    PURCHASE,
    RENTAL,
    RUNNING,
    USE,
    any_offer,
    case,
    cases,
    one,
    said,
    uses,
    worked_out,
)

CAR = OWNED._replace(includes=ALL)
#: It loses half its value in 11 of 33 months, and half of that again.
HALVING = CAR._replace(price=8_000_00, value_at_horizon=1_000_00)


# 3,150.00 over 143 weeks, 57,750 miles and 2,904 lesson hours; an hour a week of 121 weeks earns 4,719.00; of the
# total 0.26 x 0.9 is relieved.
def test_a_total_is_told_by_the_week_the_mile_and_the_hour() -> None:
    found = one(CAR)
    assert (found.told, found.total) == (3_150_00, 3_150_00)
    assert (found.per_week, found.per_mile, found.per_lesson_hour) == (22_03, 5, 1_08)
    assert (found.hours_a_week, found.after_tax) == (Decimal("0.67"), 2_412_90)
    assert (found.up_front, found.dearest) == (6_450_00, MonthSum(0, 6_450_00))


def test_nothing_is_divided_by_nothing() -> None:
    idle = one(CAR, lesson_hours_per_week=Fraction(0))
    assert (idle.per_lesson_hour, idle.per_mile) == (None, 5)
    assert one(CAR, lesson_hour_price=0).hours_a_week is None


def test_of_months_as_dear_the_first_is_the_dearest() -> None:
    assert one(PURCHASE._replace(deposit=0, fees=0, on_leaving="half_rule")).dearest == MonthSum(1, 236_00)


# 6,450.00 less 3,300.00 / 1.21.
@pytest.mark.parametrize(("rate", "value"), [("0", 3_150_00), ("0.1", 3_722_73)])
def test_present_value_discounts_each_month(rate: str, value: int) -> None:
    assert one(CAR, months=24, discount_rate=Fraction(rate)).present_value == value


# 0.26 of the miles that aren't private; nothing where more are private than are driven.
@pytest.mark.parametrize(("private", "after_tax"), [(0, 2_331_00), (21_000, 3_150_00), (30_000, 3_150_00)])
def test_tax_relieves_the_business_share(private: int, after_tax: int) -> None:
    assert one(CAR, private_miles_per_year=Fraction(private)).after_tax == after_tax


def test_who_drives_no_miles_drives_none_for_business() -> None:
    parked = one(CAR, miles_per_year=Fraction(0), private_miles_per_year=Fraction(0))
    assert parked.after_tax == parked.total == 3_150_00


# 1,000.00; 930.00; 860.00; and 860.00 + 500.00 - 712.50 - 300.00 - 855.00.
def test_the_purse_is_lowest_where_least_is_left() -> None:
    three = one(RENTAL, months=3, cash_in_hand=1_000_00, put_by_per_month=500_00)
    assert three.lowest_purse == MonthSum(3, -507_50)
    assert one(CAR, cash_in_hand=1_000_00, put_by_per_month=0).lowest_purse == MonthSum(0, -5_450_00)
    assert one(CAR, cash_in_hand=1_000_00).lowest_purse is None
    assert one(CAR, put_by_per_month=0).lowest_purse is None


def test_only_credit_has_an_apr() -> None:
    assert [one(offer).apr for offer in (OWNED, HIRE, RENTAL)] == [None] * 3
    assert one(PURCHASE._replace(price=1_000_00, deposit=1_000_00, half_rule=False)).apr is None
    # Too little comes back: no rate above nothing fits.
    assert one(PURCHASE._replace(price=30_000_00)).apr == Decimal("0.0")


# 10,000.00 lent for a year and 11,235.00 paid back is 12.35 %, which floats put a hair below.
def test_half_a_tenth_of_an_apr_is_rounded_up() -> None:
    year = PURCHASE._replace(deposit=0, price=10_000_00, payment=0, payments=12, fees=0, final_payment=11_235_00)
    assert one(year).apr == Decimal("12.4")


def test_an_apr_beyond_all_bounds_is_none() -> None:
    wild = PURCHASE._replace(price=1, deposit=0, payment=9_000_000_00, payments=520, frequency="week", half_rule=False)
    assert one(wild).apr is None


# --- Leaving ----------------------------------------------------------------------------------------------


# 0.25 x 4,000.00 + 0.1 x 6,000.00 + 0.65 x 7,000.00.
def test_the_expected_total_weighs_each_month_by_its_chance() -> None:
    leaving = (Chance(11, Fraction("0.25")), Chance(22, Fraction("0.1")), Chance(30, Fraction(0)))
    assert figures(case(HALVING, leaving=leaving), HALVING).expected == 6_150_00


def test_who_is_sure_to_leave_needs_no_figure_of_the_horizon() -> None:
    sure = case(RENTAL._replace(then="renew"), months=15, leaving=(Chance(14, Fraction(1)),))
    [rental] = sure.offers
    assert figures(sure, rental).expected == figures(sure, rental, months=14).total


def test_without_chances_or_where_a_total_is_not_told_nothing_is_expected() -> None:
    assert figures(case(HALVING), HALVING).expected is None
    untold = RENTAL._replace(early_exit=None)
    for chance, expected in ((Fraction(0), 15), (Fraction("0.1"), None)):
        left = case(untold, months=15, leaving=(Chance(14, chance),))
        whole = figures(left, untold).total
        assert figures(left, untold).expected == (whole if expected else None)


@given(cases(), st.booleans())
def test_leaving_at_the_horizon_is_staying(case: Case, by_event: bool) -> None:
    [offer] = case.offers
    n = case.use.months
    try:
        stays = figures(case, offer)
    except CannotBeHandedBack:
        return
    leaves = figures(case, offer, what_if=WhatIf("", leave_at_month=n)) if by_event else figures(case, offer, months=n)
    assert said(leaves, "assumed", "expected") == said(stays, "assumed", "expected")
    assert (leaves.offer, leaves.expected) == (stays.offer, None)
    assert {*leaves.assumed} <= {*stays.assumed}


# --- What could happen ------------------------------------------------------------------------------------


# Six weeks of 24 hours at 39.00; of weeks 20 to 25 none lies inside two months, and four inside five.
@pytest.mark.parametrize(("leave_at", "lost"), [(None, 5_616_00), (2, 0), (5, 1_872_00)])
def test_takings_are_lost_in_the_weeks_off_before_one_leaves(leave_at: int | None, lost: int) -> None:
    assert takings_lost(USE, WhatIf("Ill", off=WeeksOff(20, 6), leave_at_month=leave_at)) == lost


def test_without_weeks_off_no_takings_are_lost() -> None:
    assert takings_lost(USE, WhatIf("Damage", damage=400_00)) is None


def test_other_damage_takes_the_place_of_the_offer_s_where_the_car_goes_back() -> None:
    for offer, more in ((RENTAL, 100_00), (OWNED, 0), (PURCHASE._replace(on_leaving="settle"), 0)):
        made = case(offer._replace(includes=ALL))
        [as_planned], [damaged] = worked_out(made), worked_out(made, what_if=WhatIf("", damage=400_00))
        assert damaged.told - as_planned.told == more


def test_events_come_together() -> None:
    both = WhatIf("Both", off=WeeksOff(2, 2), leave_at_month=12, more_miles=Fraction(1, 10), one_repair=500_00)
    [found] = worked_out(case(OWNED), what_if=both)
    assert found.months == 12
    # 23,100 miles a year, of 44 weeks 42 are taught.
    assert found.flow.parts["fuel"] == 3_131_10
    assert found.flow.parts["repairs"] == 380_00 + 500_00


# --- Where something isn't told ---------------------------------------------------------------------------

DIVIDED = ("total", "per_week", "per_mile", "per_lesson_hour", "hours_a_week", "present_value", "after_tax")


def test_what_rests_on_the_total_is_none_where_something_is_not_told() -> None:
    made = case(PCP, running=RUNNING._replace(servicing_per_year=None), cash_in_hand=0, put_by_per_month=0)
    [found] = worked_out(made)
    assert [getattr(found, name) for name in (*DIVIDED, "lowest_purse", "dearest")] == [None] * 9
    assert found.apr is not None
    assert found.up_front is not None
    assert found.told > 0


def test_an_untold_value_leaves_the_dearest_month_and_an_untold_premium_hides_what_goes_in_first() -> None:
    [found] = worked_out(case(OWNED._replace(value_at_horizon=None)))
    assert (found.total, found.dearest) == (None, MonthSum(0, found.flow.months[0]))
    assert found.up_front == found.flow.months[0]
    for untold in ("insurance", "vehicle_tax_per_year", "breakdown_per_year", "fit_out"):
        [found] = worked_out(case(OWNED, running=RUNNING._replace(**{untold: None})))
        assert (found.up_front, found.dearest) == (None, None)
    for untold in ("mot", "repairs_per_year", "tyre_set", "fuel"):
        [found] = worked_out(case(OWNED, running=RUNNING._replace(**{untold: None})))
        assert found.up_front == found.flow.months[0]


# --- The same car -----------------------------------------------------------------------------------------


@given(uses(), st.integers(1, 20_000_00), st.integers(0, 20_000_00), st.data())
def test_a_car_kept_or_bought_at_its_value_costs_the_same_at_any_discount(
    use: Use, value: int, at_horizon: int, data: st.DataObject
) -> None:
    bought = OWNED._replace(price=value, value_at_horizon=at_horizon, running=Running(fit_out=0))
    kept = bought._replace(name="Kept", value_now=value)
    month = data.draw(st.integers(1, use.months))
    two: list[Figures] = worked_out(case(bought, kept)._replace(use=use), months=month)
    assert said(two[0], "assumed") == said(two[1], "assumed")


@given(any_offer, uses())
def test_every_month_and_every_part_add_up(offer: Offer, use: Use) -> None:
    try:
        [found] = worked_out(case(offer)._replace(use=use))
    except CannotBeHandedBack:
        return
    assert found.told == sum(found.flow.months) == sum(found.flow.parts.values())
    assert len(found.flow.months) == use.months + 1


def test_every_kind_is_worked_out_whole() -> None:
    made: list[Any] = [one(offer, RUNNING).total for offer in (OWNED, PURCHASE, PCP, HIRE, RENTAL)]
    assert None not in made


@pytest.mark.parametrize(
    ("leaving", "may_leave"),
    [
        ((), False),
        ((Chance(7, Fraction(0)),), False),
        ((Chance(7, Fraction(0)), Chance(32, Fraction(1, 10))), True),
    ],
)
def test_one_may_leave_where_there_is_a_chance_above_nothing(leaving: tuple[Chance, ...], may_leave: bool) -> None:
    assert USE._replace(leaving=leaving).may_leave is may_leave
