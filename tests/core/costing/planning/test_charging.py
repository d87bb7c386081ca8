"""What to charge: the parts of a cost, and break-even, prices and hours that are the least that will do."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costing.core.catalogue.costs import COST_CATEGORIES
from costing.planning.core.charging import (
    WEEKS_OF_A_YEAR,
    CarCost,
    Lessons,
    cancelled_hour,
    car_cost,
    variable_hour,
)

pence = st.integers(0, 5_000_000)
rates = st.fractions(0, 5_000, max_denominator=700)
hours = st.fractions(Fraction(1, 4), 60, max_denominator=60)
teaching_weeks = st.fractions(1, 52, max_denominator=100)
sums = st.dictionaries(st.sampled_from(list(COST_CATEGORIES)), st.integers(-20_000, 2_000_000), max_size=12)


@st.composite
def plans(draw: st.DrawFn) -> Lessons:
    return Lessons(draw(rates), Fraction(draw(pence)), draw(teaching_weeks), draw(hours), draw(st.integers(0, 20_000)))


def test_each_category_goes_with_what_drives_it() -> None:
    # 28 days, 400 miles of which 100 are private, and 20 hours: three quarters of everything are for lessons.
    cost = car_cost(
        {"insurance": 4_000, "depreciation": 8_000, "fuel": 6_000, "tyres": 2_000, "cleaning": 800},
        miles=400,
        private_miles=100,
        minutes=20 * 60,
        days=28,
    )
    assert cost == CarCost(week=Fraction(2_250), mile=Fraction(20), hour=Fraction(30), miles_an_hour=Fraction(15))
    assert variable_hour(cost) == 330


@pytest.mark.parametrize(
    "use",
    [
        {"miles": 0, "private_miles": 0},
        {"private_miles": 500},
        {"private_miles": 400},
        {"minutes": 0},
        {"days": 0},
    ],
)
def test_without_miles_hours_or_days_there_is_no_cost_of_one(use: dict[str, int]) -> None:
    assert car_cost({"fuel": 1}, **({"miles": 400, "private_miles": 100, "minutes": 60, "days": 28} | use)) is None


@given(sums, st.integers(1, 30_000), st.integers(0, 30_000), st.integers(1, 99_999), st.integers(1, 366))
def test_the_parts_of_a_period_add_up_to_the_business_share(
    by_category: dict[str, int], business: int, private: int, minutes: int, days: int
) -> None:
    miles = business + private
    cost = car_cost(by_category, miles=miles, private_miles=private, minutes=minutes, days=days)
    assert cost is not None
    of_lessons = Fraction(sum(by_category.values()) * business, miles)
    taught = Fraction(minutes, 60)
    assert cost.week * days / 7 + variable_hour(cost) * taught == of_lessons


@given(plans(), pence)
def test_one_hour_fewer_is_not_enough(plan: Lessons, wanted: int) -> None:
    needed = plan.whole_hours_needed(wanted)
    if needed is None:
        assert plan.contribution is not None
        assert plan.contribution <= 0
        return
    assert _left(plan, needed) >= wanted
    assert needed == 0 or _left(plan, needed - 1) < wanted


@given(plans(), pence, st.integers(20, 180))
def test_one_lesson_fewer_is_not_enough(plan: Lessons, wanted: int, minutes: int) -> None:
    count = plan.lessons_needed(minutes, wanted)
    if count is not None:
        assert _left(plan, Fraction(count * minutes, 60)) >= wanted
        assert count == 0 or _left(plan, Fraction((count - 1) * minutes, 60)) < wanted


@given(plans(), pence)
def test_a_penny_less_is_not_enough(plan: Lessons, wanted: int) -> None:
    price = plan.price_needed(wanted)
    assert price is not None
    assert plan.hours is not None
    assert (price - plan.variable) * plan.hours - plan.fixed >= wanted
    assert price == 0 or (price - 1 - plan.variable) * plan.hours - plan.fixed < wanted


@given(plans())
def test_what_is_left_agrees_however_it_is_asked(plan: Lessons) -> None:
    assert plan.hours is not None
    assert plan.hours_a_week is not None
    assert plan.left == _left(plan, plan.hours_a_week)
    assert plan.left_an_hour is not None
    assert plan.cost_an_hour is not None
    assert plan.left_an_hour * plan.hours == plan.left
    assert plan.price == plan.cost_an_hour + plan.left_an_hour
    margin = plan.margin_of_safety
    if margin is not None:
        assert (margin >= 0) is (plan.left >= 0)


def _left(plan: Lessons, hours_a_week: Fraction | int) -> Fraction:
    """By the slow road: takings less all costs of a year."""
    assert plan.price is not None
    taught = hours_a_week * plan.weeks
    return plan.price * taught - plan.variable * taught - plan.fixed


def test_without_a_price_or_hours_there_is_no_answer() -> None:
    plan = Lessons(Fraction(300), Fraction(90_000))
    assert plan.weeks == WEEKS_OF_A_YEAR
    assert (plan.contribution, plan.left, plan.left_an_hour, plan.cost_an_hour) == (None, None, None, None)
    assert (plan.hours_needed(), plan.whole_hours_needed(), plan.lessons_needed(60)) == (None, None, None)
    assert (plan.price_needed(), plan.margin_of_safety) == (None, None)
    priced = Lessons(Fraction(300), Fraction(90_000), price=3_800)
    assert (priced.left, priced.left_an_hour, priced.margin_of_safety) == (None, None, None)
    none_taught = Lessons(Fraction(300), Fraction(90_000), hours_a_week=Fraction(0), price=3_800)
    assert (none_taught.hours, none_taught.margin_of_safety, none_taught.price_needed()) == (None, None, None)


def test_at_a_price_below_what_an_hour_causes_no_number_of_hours_is_enough() -> None:
    plan = Lessons(Fraction(300), Fraction(90_000), Fraction(46), Fraction(20), 300)
    assert plan.contribution == 0
    assert (plan.hours_needed(), plan.whole_hours_needed(), plan.lessons_needed(60)) == (None, None, None)
    assert plan.margin_of_safety is None
    assert plan.left == -90_000


def test_with_nothing_to_pay_for_no_hour_is_needed() -> None:
    plan = Lessons(Fraction(300), Fraction(-100), Fraction(46), Fraction(20), 3_000)
    assert (plan.hours_needed(), plan.whole_hours_needed(), plan.lessons_needed(60)) == (0, 0, 0)
    assert Lessons(Fraction(0), Fraction(-500), Fraction(1), Fraction(1)).price_needed() == 0


def test_a_cancelled_hour_costs_its_price_less_what_is_not_spent_on_it() -> None:
    cost = CarCost(week=Fraction(2_250), mile=Fraction(20), hour=Fraction(30), miles_an_hour=Fraction(15))
    lost = cancelled_hour(3_800, cost)
    assert (lost.miles_saved, lost.miles_driven) == (3_470, 3_770)
