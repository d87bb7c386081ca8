"""Keep or replace: repairs read off records, money tied up, and where the answer holds."""

from fractions import Fraction

import numpy
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from costing.choosing.core.keep_or_replace import (
    REACH,
    AnswerRange,
    Assumption,
    KeptCar,
    RepairYear,
    Trend,
    answer_range,
    repairs_trend,
    year_to_replace,
    years_of_keeping,
)

# £4,000, a quarter lost a year; repairs of £600, dearer by a fifth of that each year; £3,000 and then £2,500 besides.
CAR = KeptCar(400_000, Fraction(1, 4), 60_000, Fraction(1, 5), (300_000, 250_000))


def test_the_last_of_the_other_costs_goes_on() -> None:
    assert [year.other for year in years_of_keeping(CAR, 3)] == [300_000, 250_000, 250_000]


def test_money_tied_up_is_counted_on_what_the_car_is_worth_as_each_year_begins() -> None:
    kept = years_of_keeping(CAR._replace(discount_rate=Fraction(1, 20)), 2)

    assert [year.tied_up for year in kept] == [20_000, 15_000]
    assert kept[0].pence == 100_000 + 60_000 + 300_000 + 20_000


def test_a_line_through_three_years_tells_the_coming_ones() -> None:
    # £200 more for each 20,000 miles; half-way through the coming year the car shows 80,000.
    years = [RepairYear(20_000, 20_000), RepairYear(40_000, 40_000), RepairYear(60_000, 60_000)]

    assert repairs_trend(years, 70_000, Fraction(20_000)) == Trend(80_000, Fraction(1, 4))


@pytest.mark.parametrize(
    "years",
    [
        [],
        [RepairYear(20_000, 20_000), RepairYear(40_000, 40_000)],
        [RepairYear(20_000, 20_000), RepairYear(20_000, 40_000), RepairYear(20_000, 60_000)],
    ],
)
def test_too_little_makes_no_line(years: list[RepairYear]) -> None:
    assert repairs_trend(years, 70_000, Fraction(20_000)) is None


def test_a_line_that_falls_is_taken_as_level() -> None:
    years = [RepairYear(20_000, 60_000), RepairYear(40_000, 30_000), RepairYear(60_000, 30_000)]

    assert repairs_trend(years, 70_000, Fraction(20_000)) == Trend(40_000, Fraction(0))


def test_a_car_without_repairs_is_taken_to_go_on_so() -> None:
    years = [RepairYear(miles, 0) for miles in (20_000, 40_000, 60_000)]

    assert repairs_trend(years, 70_000, Fraction(20_000)) == Trend(0, Fraction(0))


@given(
    st.lists(st.builds(RepairYear, st.integers(0, 200_000), st.integers(0, 500_000)), min_size=3, max_size=8),
    st.integers(0, 50_000),
)
def test_the_line_is_that_of_an_independent_library(years: list[RepairYear], gone_since: int) -> None:
    miles = [year.miles for year in years]
    assume(max(miles) - min(miles) > 1_000)
    odometer = max(miles) + gone_since
    trend = repairs_trend(years, odometer, Fraction(24_000))
    slope, start = numpy.polyfit(miles, [year.pence for year in years], 1)

    assert trend is not None
    if slope > 1e-6:
        assert trend.next_year == pytest.approx(start + slope * (odometer + 12_000), rel=1e-6, abs=0.6)
        assert float(trend.rise) * trend.next_year == pytest.approx(slope * 24_000, rel=1e-2, abs=1)
    else:
        assert trend.rise == pytest.approx(0, abs=1e-3)


def test_the_rise_at_which_another_year_is_the_one_is_solved() -> None:
    level = KeptCar(0, Fraction(0), 100_000, Fraction(1, 10), (0,))

    # 1,000; 1,100; 1,200; ... beside 1,150: the third year is the first that is dearer.
    assert year_to_replace(years_of_keeping(level, 5), 115_000) == 3
    low, high = answer_range(level, 5, 115_000, "repairs_rise")
    assert low is not None
    assert high is not None
    assert float(low) == pytest.approx(0.075, abs=1e-9)  # below it 1,000 + 2 x 75 no longer is
    assert float(high) == pytest.approx(0.15, abs=1e-9)  # above it the second year is


def test_an_answer_that_no_assumption_changes_holds_as_far_as_it_is_followed() -> None:
    for assumption in ("repairs_rise", "value_loss"):
        assert answer_range(CAR, 5, 100_000, assumption) == AnswerRange(None, None)


def test_a_faster_loss_makes_the_coming_year_the_one_and_a_slower_one_a_later() -> None:
    car = KeptCar(1_000_000, Fraction(1, 10), 50_000, Fraction(1), (100_000,))

    # The coming year costs 1,500 and the share of 10,000 that is lost: beside 2,700 that is a share of 0.12.
    assert year_to_replace(years_of_keeping(car, 5), 270_000) == 2
    low, high = answer_range(car, 5, 270_000, "value_loss")
    assert high == pytest.approx(Fraction(12, 100), abs=1e-9)
    # Of the second: 2,000 + 10,000 x d (1 - d) = 2,700, or d = 0.0757...
    assert low == pytest.approx(Fraction(757359, 10_000_000), abs=1e-6)


@pytest.mark.parametrize(
    ("discount_rate", "other", "loss", "low", "high"),
    [
        # Of the second year 7,000 + 10,000 x d (1 - d) is dearer than 9,400 for a share from 0.4 to 0.6; no other is.
        (Fraction(0), (0, 700_000), Fraction(1, 2), Fraction(4, 10), Fraction(6, 10)),
        # With a fifth a year on what is tied up, 9,000 + 10,000 x (1 - d) (d + 0.2) beside 12,500: from 0.3 to 0.5.
        (Fraction(1, 5), (0, 900_000), Fraction(4, 10), Fraction(3, 10), Fraction(5, 10)),
    ],
)
def test_a_second_year_loses_most_where_the_first_has_left_something_to_lose(
    discount_rate: Fraction, other: tuple[int, ...], loss: Fraction, low: Fraction, high: Fraction
) -> None:
    car = KeptCar(1_000_000, loss, 0, Fraction(0), other, discount_rate)
    beside = other[1] + (240_000 if not discount_rate else 350_000)

    assert year_to_replace(years_of_keeping(car, 3), beside) == 2
    assert answer_range(car, 3, beside, "value_loss") == AnswerRange(
        pytest.approx(low, abs=1e-9), pytest.approx(high, abs=1e-9)
    )


def test_a_later_year_that_turns_cheap_does_not_change_the_answer_and_the_year_itself_does() -> None:
    # 1,000 x (1 + r) + 900 and 1,000 x (1 + 2 r) + 700 beside 2,000: the third year turns at 0.15, the second at 0.1.
    car = KeptCar(0, Fraction(0), 100_000, Fraction(1, 2), (0, 90_000, 70_000))

    assert year_to_replace(years_of_keeping(car, 3), 200_000) == 2
    assert answer_range(car, 3, 200_000, "repairs_rise") == AnswerRange(pytest.approx(Fraction(1, 10), abs=1e-9), None)


@given(
    st.builds(
        KeptCar,
        st.integers(0, 2_000_000),
        st.fractions("1/50", "8/10", max_denominator=50),
        st.integers(0, 300_000),
        st.fractions(0, 1, max_denominator=50),
        st.tuples(st.integers(0, 500_000), st.integers(0, 500_000)),
        st.sampled_from([Fraction(0), Fraction(1, 25), Fraction(1, 2)]),
    ),
    st.integers(0, 1_500_000),
    st.sampled_from(["repairs_rise", "value_loss"]),
)
def test_the_answer_is_the_same_all_the_way(car: KeptCar, other: int, assumption: Assumption) -> None:
    def answer(value: Fraction) -> int | None:
        return year_to_replace(years_of_keeping(car._replace(**{assumption: value}), 5), other)

    def misses(value: Fraction) -> int:
        """By how few pence some year there misses the other car's cost: within two, rounding decides."""
        kept = years_of_keeping(car._replace(**{assumption: value}), 5)
        return min(abs(year.pence - other) for year in kept)

    base = getattr(car, assumption)
    low, high = answer_range(car, 5, other, assumption)
    least, most = REACH[assumption]
    first, last = least if low is None else low, most if high is None else high
    inside = [first + (last - first) * Fraction(part, 12) for part in range(1, 12)]

    assert first <= base <= last
    assert all(answer(value) == answer(base) for value in inside if misses(value) > 2 and misses(base) > 2)


def test_a_later_year_that_turns_dear_does_not_change_the_answer() -> None:
    first_year_dear = KeptCar(0, Fraction(0), 100_000, Fraction(1, 2), (200_000, 0))

    assert answer_range(first_year_dear, 3, 115_000, "repairs_rise") == AnswerRange(None, None)
