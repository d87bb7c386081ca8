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
    missing=(Missing(Reason.NO_FULL_LITRES),),
    is_known=True,
    is_borrowed=False,
    known_until=date(2027, 4, 8),
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
    estimated=("miles",),
    missing=(Missing(Reason.NO_FULL_LITRES), Missing(Reason.NO_FULL_KWH)),
    is_known=True,
    is_borrowed=False,
    known_until=date(2027, 4, 2),
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
    assert both.estimated == ("depreciation", "miles")
    assert both.missing == (Missing(Reason.NO_FULL_LITRES), Missing(Reason.NO_FULL_KWH))


def test_miles_unknown_of_one_car_are_unknown_of_both() -> None:
    both = together([FIRST, replace(SECOND, miles=None)])
    assert both.miles is None
    assert both.cost_per_mile is None


@pytest.mark.parametrize("told", ["lessons", "minutes", "private_miles"])
def test_lessons_that_one_car_does_not_tell_are_unknown_of_both(told: str) -> None:
    both = together([FIRST, replace(SECOND, **{told: None})])
    assert getattr(both, told) is None
    assert both.cost_per_mile == 13


def test_the_figures_are_absent_as_soon_as_one_car_is_not_known() -> None:
    both = together([FIRST, replace(SECOND, is_known=False, known_until=None)])
    assert (both.cost_per_lesson_hour, both.cost_per_lesson, both.cost_per_mile) == (None, None, None)
    assert both.known_until is None
    assert together([FIRST, SECOND]).known_until == date(2027, 4, 2)


def test_a_borrowed_car_counts_and_makes_no_figure_absent() -> None:
    loan = replace(SECOND, is_known=False, is_borrowed=True, known_until=None)
    both = together([FIRST, loan])
    assert (both.miles, both.lessons, both.cost_per_mile) == (1_200, 48, 13)
    assert both.known_until == date(2027, 4, 8)
    assert not both.is_borrowed


def test_with_nothing_but_borrowed_cars_there_is_no_figure() -> None:
    alone = together([replace(SECOND, is_known=False, is_borrowed=True, known_until=None)])
    assert (alone.cost_per_mile, alone.is_borrowed) == (None, True)


def test_different_periods_and_no_cars_are_refused() -> None:
    april = Period(date(2027, 4, 1), date(2027, 4, 30))
    for costs in ([], [FIRST, replace(SECOND, period=april)]):
        with pytest.raises(ValueError, match=r"^only costs of one and the same period can be taken together$"):
            together(costs)


def test_cars_without_two_brims_have_no_economy() -> None:
    none = together([replace(FIRST, litre_economy=None), replace(SECOND, litre_economy=None)])
    assert none.litre_economy is None
