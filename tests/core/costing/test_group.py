"""The group's figures, and that nobody can be seen through them."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costing.core.group import (
    ContributorValues,
    GroupFigures,
    contributor_values,
    group_figures,
    medians_by_key,
    quantile,
)
from costing.core.running_cost import Tally

MONTH = Tally(service_days=31, true_cost=60_000, miles=2_000, private_miles=200, minutes=6_000, lessons=75)


def member(hour: Fraction | int, lesson: Fraction | int | None = 0, mile: Fraction | int = 0) -> ContributorValues:
    return ContributorValues(Fraction(hour), Fraction(mile), None if lesson is None else Fraction(lesson))


def hours(*pence: Fraction | int) -> list[ContributorValues]:
    return [member(each) for each in pence]


def test_a_members_values_are_exact() -> None:
    # 600.00 x 9/10 business over 100 hours, over 75 lessons; 600.00 over 2,000 miles.
    assert contributor_values([MONTH], 31) == member(540, lesson=720, mile=30)


def test_a_member_with_two_cars_counts_with_both_together() -> None:
    second = Tally(10, 20_000, 500, 0, 1_500, 25)

    # 800.00 over 2,500 miles, 200 private, 125 hours, 100 lessons: not the mean of the two cars'.
    assert contributor_values([MONTH, second], 31) == member(
        Fraction(80_000 * 2_300, 2_500 * 125),
        lesson=Fraction(80_000 * 2_300, 2_500 * 100),
        mile=32,
    )


@pytest.mark.parametrize(
    ("tally", "days"),
    [
        (MONTH, 27),
        (MONTH._replace(miles=0, private_miles=0), 31),
        (MONTH._replace(minutes=0), 31),
        (MONTH._replace(private_miles=2_001), 31),
    ],
)
def test_a_member_without_enough_data_is_no_contributor(tally: Tally, days: int) -> None:
    assert contributor_values([tally], days) is None


def test_28_days_in_service_are_enough() -> None:
    assert contributor_values([MONTH], 28) is not None


def test_a_member_without_counted_lessons_contributes_the_rest() -> None:
    assert contributor_values([MONTH._replace(lessons=0)], 31) == member(540, lesson=None, mile=30)


def test_a_member_without_any_car_is_no_contributor() -> None:
    assert contributor_values([], 0) is None


def test_five_contributors_have_medians_but_no_quartiles() -> None:
    values = [member(hour, lesson=hour + 100, mile=hour // 20) for hour in (700, 500, 900, 600, 800)]

    assert group_figures(values, 5) == GroupFigures(
        contributors=5,
        minimum=5,
        suppressed=False,
        median_cost_per_lesson=800,
        median_cost_per_lesson_hour=700,
        median_cost_per_mile=35,
        lower_quartile_cost_per_lesson_hour=None,
        upper_quartile_cost_per_lesson_hour=None,
    )


def test_an_even_number_has_the_mean_of_the_two_middle_values_half_up() -> None:
    assert group_figures(hours(1, 2, 600, 601, 900, 950), 5).median_cost_per_lesson_hour == 601


def test_a_median_is_rounded_once() -> None:
    # The mean of 600.4 and 600.5 is 600.45; rounded first it would be 600.5 and then 601.
    middle = (Fraction(6_004, 10), Fraction(6_005, 10))
    assert group_figures(hours(1, 2, *middle, 900, 950), 5).median_cost_per_lesson_hour == 600


def test_eight_contributors_have_quartiles() -> None:
    figures = group_figures(hours(100, 200, 300, 400, 500, 600, 700, 800), 5)

    # Places 7/4 and 21/4 of 0..7: 275 and 625.
    assert figures.lower_quartile_cost_per_lesson_hour == 275
    assert figures.upper_quartile_cost_per_lesson_hour == 625
    seven = group_figures(hours(100, 200, 300, 400, 500, 600, 700), 5)
    assert seven.median_cost_per_lesson_hour == 400
    assert seven.lower_quartile_cost_per_lesson_hour is None
    assert seven.upper_quartile_cost_per_lesson_hour is None


@pytest.mark.parametrize("minimum", [0, 3, 5])
def test_below_five_nothing_is_shown_however_low_the_minimum(minimum: int) -> None:
    assert group_figures(hours(500, 600, 700, 800), minimum) == (4, 5, True, None, None, None, None, None)


def test_a_higher_minimum_holds_for_quartiles_too() -> None:
    assert group_figures(hours(*range(9)), 10) == (9, 10, True, None, None, None, None, None)
    assert group_figures(hours(*range(10)), 10).lower_quartile_cost_per_lesson_hour is not None


def test_the_minimum_holds_for_lessons_by_themselves() -> None:
    values = [*(member(500, lesson=400) for _ in range(4)), member(500, lesson=None)]

    figures = group_figures(values, 5)
    assert figures.median_cost_per_lesson_hour == 500
    assert figures.median_cost_per_lesson is None


def test_an_empty_group_shows_nothing() -> None:
    assert group_figures([], 5) == (0, 5, True, None, None, None, None, None)
    with pytest.raises(ValueError, match="no quantile"):
        quantile([], Fraction(1, 2))


@given(st.permutations(range(1, 12)))
def test_figures_do_not_depend_on_who_comes_first(pence: list[int]) -> None:
    figures = group_figures(hours(*pence), 5)

    # Sorted 1..11: places 2.5, 5 and 7.5 are 3.5, 6 and 8.5.
    assert (figures.lower_quartile_cost_per_lesson_hour, figures.median_cost_per_lesson_hour) == (4, 6)
    assert figures.upper_quartile_cost_per_lesson_hour == 9


@given(st.lists(st.integers(0, 5_000), min_size=8, max_size=30))
def test_quartiles_lie_around_the_median(pence: list[int]) -> None:
    figures = group_figures(hours(*pence), 5)
    lower, median, upper = (
        figures.lower_quartile_cost_per_lesson_hour,
        figures.median_cost_per_lesson_hour,
        figures.upper_quartile_cost_per_lesson_hour,
    )

    assert lower is not None
    assert median is not None
    assert upper is not None
    assert min(pence) <= lower <= median <= upper <= max(pence)


def test_a_median_by_key_counts_those_who_have_a_value_and_hides_too_few() -> None:
    values = [{"mot": Fraction(pounds), "repairs_per_year": Fraction(1, 3)} for pounds in (50, 54, 40, 60)]
    values += [{"repairs_per_year": Fraction(2, 3)}, {"mot": Fraction(545, 10)}, {}]
    # Five have an MOT and five repairs; asked for six, nobody is told anything.
    assert medians_by_key(values, 1) == {"mot": (Decimal("54.00"), 5), "repairs_per_year": (Decimal("0.33"), 5)}
    assert medians_by_key(values, 6) == {}
    assert medians_by_key(values[:4], 1) == {}
