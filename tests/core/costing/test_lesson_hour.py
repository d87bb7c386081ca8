"""A lesson hour by group: whatever is in the book, the slices are the figure."""

from dataclasses import replace
from datetime import date
from decimal import Decimal
from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from costing.core.catalogue.costs import COST_CATEGORIES, CostGroup
from costing.core.lesson_hour import dearest_of_groups, lesson_hour_by_group
from costing.core.records import CarBook, Period
from costing.core.running_cost import RunningCost, running_cost
from costing.core.together import together
from tests.core.costing.books import books, periods, rates

MARCH = Period(date(2027, 3, 1), date(2027, 3, 31))
#: 100 pounds of costs, 1,000 miles of which 200 are private, and 3 hours.
COST = RunningCost(
    period=MARCH,
    miles=1_000,
    private_miles=200,
    lessons=2,
    minutes=180,
    by_category={"depreciation": 2_501, "fuel": 3_333, "insurance": 4_165, "cleaning": 1},
    money_out=0,
    litre_economy=None,
    kwh_economy=None,
    estimated=(),
    missing=(),
    is_known=True,
    is_borrowed=False,
    known_until=MARCH.last,
)

sums = st.dictionaries(st.sampled_from(list(COST_CATEGORIES)), st.integers(-200_000, 2_000_000), max_size=12)


def test_each_group_is_the_difference_of_two_rounded_totals() -> None:
    # Four fifths of it is for lessons, over three hours: 4/15 of each running total, rounded half up.
    # 2,501 gives 666.93; 5,834 gives 1,555.73; 9,999 gives 2,666.40; 10,000 gives 2,666.67.
    assert COST.cost_per_lesson_hour == 2_667
    assert lesson_hour_by_group(COST) == {
        CostGroup.VALUE: 667,
        CostGroup.FUEL: 1_556 - 667,
        CostGroup.INSURANCE: 2_666 - 1_556,
        CostGroup.REST: 1,
    }


def test_categories_of_one_group_are_one_slice_in_the_order_of_the_groups() -> None:
    slices = lesson_hour_by_group(replace(COST, by_category={"mot": 5_485, "rental": 900, "vehicle_tax": 2_000}))
    assert list(slices) == [CostGroup.FINANCE, CostGroup.TAX]
    assert slices == {CostGroup.FINANCE: 240, CostGroup.TAX: 2_236 - 240}


def test_each_group_has_its_dearest_category() -> None:
    cost = replace(COST, by_category={"mot": 5_485, "repairs": 900, "servicing": 899, "vehicle_tax": 2_000})
    assert dearest_of_groups(cost) == {CostGroup.TAX: "mot", CostGroup.SERVICE: "repairs"}
    assert dearest_of_groups(replace(COST, by_category={})) == {}


def test_a_refund_is_below_nought_and_nothing_is_left_out() -> None:
    slices = lesson_hour_by_group(replace(COST, by_category={"fuel": 3_000, "insurance": -1_500, "tyres": 0}))
    assert slices == {CostGroup.FUEL: 800, CostGroup.INSURANCE: -400}


def test_without_a_figure_there_is_nothing_to_split() -> None:
    for lacking in ({"minutes": 0}, {"miles": None}, {"miles": 0}, {"private_miles": 1_001}):
        assert lesson_hour_by_group(replace(COST, **lacking)) == {}


@given(sums, st.integers(1, 5_000), st.integers(0, 5_000), st.integers(1, 20_000))
def test_the_slices_are_the_figure_and_none_is_a_penny_off(
    by_category: dict[str, int], miles: int, private: int, minutes: int
) -> None:
    cost = replace(COST, by_category=by_category, miles=miles, private_miles=min(private, miles), minutes=minutes)
    slices = lesson_hour_by_group(cost)
    share = cost.business_share
    assert share is not None
    assert sum(slices.values()) == cost.cost_per_lesson_hour
    for group in CostGroup:
        pence = sum(amount for name, amount in by_category.items() if COST_CATEGORIES[name].group is group)
        exact = pence * share / Fraction(minutes, 60)
        assert abs(slices.get(group, 0) - exact) <= 1


@given(st.lists(books(), min_size=1, max_size=3), periods(), rates)
def test_the_slices_of_cars_taken_together_are_their_figure(cars: list[CarBook], period: Period, rate: Decimal) -> None:
    cost = together([running_cost(book, period, depreciation_rate=rate) for book in cars])
    assert sum(lesson_hour_by_group(cost).values()) == (cost.cost_per_lesson_hour or 0)
