"""Who counts in the group's figures, and with which values."""

from datetime import date
from fractions import Fraction

import pytest

from costing.core.group import ContributorValues, contributor_values, has_standing
from costing.core.running_cost import Tally

MONTH = Tally(
    service_days=31,
    true_cost=60_000,
    miles=2_000,
    private_miles=200,
    minutes=6_000,
    lessons=75,
    is_known=True,
    is_borrowed=False,
)


def test_a_members_values_are_exact() -> None:
    # 600.00 x 9/10 business over 100 hours; 600.00 over 2,000 miles. 540 x (6,000 / 0.9) / 60 is the 600.00 again.
    assert contributor_values([MONTH], 31) == ContributorValues(
        Fraction(540), Fraction(30), Fraction(20_000, 3), miles=2_000
    )


def test_a_member_with_two_cars_counts_with_both_together() -> None:
    second = Tally(10, 20_000, 500, 0, 1_500, 25, is_known=True, is_borrowed=False)

    # 800.00 over 2,500 miles, 200 private, 125 hours: not the mean of the two cars'.
    values = contributor_values([MONTH, second], 31)
    assert values is not None
    assert values.cost_per_lesson_hour == Fraction(80_000 * 2_300, 2_500 * 125)
    assert values.cost_per_mile == 32


@pytest.mark.parametrize(
    ("tally", "days"),
    [
        (MONTH, 27),
        (MONTH._replace(miles=0, private_miles=0), 31),
        (MONTH._replace(minutes=0), 31),
        (MONTH._replace(lessons=0), 31),
        (MONTH._replace(private_miles=2_001), 31),
        (MONTH._replace(is_known=False), 31),
    ],
)
def test_a_member_without_all_three_figures_is_no_contributor(tally: Tally, days: int) -> None:
    assert contributor_values([tally], days) is None


def test_one_car_that_is_not_known_leaves_a_member_out() -> None:
    unknown = Tally(10, 20_000, 500, 0, 1_500, 25, is_known=False, is_borrowed=False)

    assert contributor_values([MONTH, unknown], 31) is None


def test_a_car_that_is_not_held_in_the_period_is_not_asked_for() -> None:
    gone = Tally(0, 0, 0, 0, 0, 0, is_known=False, is_borrowed=False)

    assert contributor_values([MONTH, gone], 31) == contributor_values([MONTH], 31)


def test_a_borrowed_car_counts_and_leaves_nobody_out_but_is_no_car_alone() -> None:
    loan = Tally(10, 0, 500, 0, 1_500, 25, is_known=False, is_borrowed=True)

    values = contributor_values([MONTH, loan], 31)
    assert values is not None
    assert values.cost_per_mile == 24
    assert contributor_values([loan], 31) is None


def test_28_days_in_service_are_enough() -> None:
    assert contributor_values([MONTH], 28) is not None


def test_one_lesson_of_one_minute_is_enough() -> None:
    # 600.00 x 9/10 business over a sixtieth of an hour.
    values = contributor_values([MONTH._replace(lessons=1, minutes=1)], 31)
    assert values is not None
    assert values.cost_per_lesson_hour == 60_000 * 54


def test_a_member_who_drove_only_privately_contributes_nothing_an_hour() -> None:
    values = contributor_values([MONTH._replace(private_miles=2_000)], 31)
    assert values == ContributorValues(Fraction(0), Fraction(30), Fraction(0), miles=2_000)


def test_a_member_without_any_car_is_no_contributor() -> None:
    assert contributor_values([], 0) is None


@pytest.mark.parametrize(
    ("joined_on", "counts"),
    [(date(2025, 11, 30), True), (date(2025, 12, 1), False), (date(2026, 3, 1), False), (None, False)],
)
def test_ninety_days_before_the_periods_last_day_are_standing(joined_on: date | None, counts: bool) -> None:
    assert has_standing(joined_on, date(2026, 2, 28)) is counts
