"""Two cars of one member, taken as one."""

from dataclasses import replace
from datetime import date

import pytest

from costing.core.economy import Economy
from costing.core.missing import Missing, Reason
from costing.core.records import Period
from costing.core.running_cost import RunningCost
from costing.core.together import together

MARCH = Period(date(2027, 3, 1), date(2027, 3, 31))
FIRST = RunningCost(
    period=MARCH,
    miles=1_000,
    private_miles=100,
    lessons=40,
    minutes=2_400,
    by_category={"fuel": 12_000, "repairs": 5_000},
    money_out=17_000,
    litre_economy=Economy("litre", 800, 80_000),
    kwh_economy=None,
    estimated=("depreciation",),
    missing=(Missing(Reason.NO_VALUE),),
)
SECOND = RunningCost(
    period=MARCH,
    miles=200,
    private_miles=20,
    lessons=8,
    minutes=600,
    by_category={"fuel": 3_000, "repairs": -5_000},
    money_out=-2_000,
    litre_economy=Economy("litre", 200, 15_000),
    kwh_economy=Economy("kwh", 90, 30_000),
    estimated=(),
    missing=(Missing(Reason.NO_VALUE), Missing(Reason.NO_FULL_KWH)),
)


def test_sums_are_added_and_figures_follow_from_the_sums() -> None:
    both = together([FIRST, SECOND])
    assert both.period == MARCH
    assert both.by_category == {"fuel": 15_000}
    assert both.money_out == 15_000
    # 150 pounds times 1,080 of 1,200 miles, over 50 hours and over 48 lessons.
    assert both.cost_per_lesson_hour == 270
    assert both.cost_per_lesson == 281
    assert both.cost_per_mile == 13
    assert both.litre_economy == Economy("litre", 1_000, 95_000)
    assert both.kwh_economy == Economy("kwh", 90, 30_000)


def test_one_car_is_what_it_is_alone() -> None:
    assert together([FIRST]) == FIRST


def test_what_is_estimated_or_missing_of_either_is_so_of_both() -> None:
    both = together([SECOND, FIRST])
    assert both.estimated == ("depreciation",)
    assert both.missing == (Missing(Reason.NO_VALUE), Missing(Reason.NO_FULL_KWH))


def test_miles_unknown_of_one_car_are_unknown_of_both() -> None:
    both = together([FIRST, replace(SECOND, miles=None)])
    assert both.miles is None
    assert both.cost_per_mile is None


def test_different_periods_and_no_cars_are_refused() -> None:
    april = Period(date(2027, 4, 1), date(2027, 4, 30))
    for costs in ([], [FIRST, replace(SECOND, period=april)]):
        with pytest.raises(ValueError, match=r"^only costs of one and the same period can be taken together$"):
            together(costs)


def test_cars_without_two_brims_have_no_economy() -> None:
    none = together([replace(FIRST, litre_economy=None), replace(SECOND, litre_economy=None)])
    assert none.litre_economy is None
