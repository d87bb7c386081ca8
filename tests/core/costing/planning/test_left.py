"""What is left after the car: takings shared over days, the business share of the true cost, and what is not told."""

from dataclasses import replace
from datetime import date, timedelta
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costing.core.periods import days_in
from costing.core.records import Period, Teaching
from costing.planning.core.left import (
    LATE,
    Left,
    last_sunday,
    left_of,
    mondays_of,
    sunday_of,
    taken,
    told_until,
    untold,
    weeks_ending,
)
from tests.core.costing.test_lesson_hour import COST

#: A Monday, and the four weeks that begin with it.
MONDAY = date(2027, 3, 1)
WEEK = timedelta(days=7)
FOUR = Period(MONDAY, MONDAY + 4 * WEEK - timedelta(days=1))
mondays = st.integers(0, 60).map(lambda number: MONDAY + number * WEEK)
books = st.dictionaries(mondays, st.integers(0, 200_000), max_size=20)


def test_what_is_left_is_takings_less_the_business_share() -> None:
    # £100 of costs, four fifths of them for lessons; £200 taken in the weeks of March, and 3 hours taught.
    cost = replace(COST, period=FOUR, minutes=180)
    left = left_of(cost, {MONDAY: 15_000, MONDAY + 2 * WEEK: 5_000})
    assert left == Left(FOUR, 20_000, Fraction(8_000), 180)
    assert (left.pence, left.car, left.an_hour, left.a_week) == (12_000, 8_000, 4_000, 3_000)


def test_the_car_may_take_more_than_came_in() -> None:
    left = Left(FOUR, 5_000, Fraction(8_000), 180)
    assert (left.pence, left.an_hour, left.a_week) == (-3_000, -1_000, -750)


def test_pence_are_rounded_half_up_once() -> None:
    left = Left(FOUR, 100, Fraction(1, 2), 60)
    assert (left.pence, left.car, left.an_hour) == (100, 0, 100)


@pytest.mark.parametrize(
    "cost",
    [
        replace(COST, is_known=False),
        replace(COST, private_miles=None),
        replace(COST, miles=0, private_miles=0),
        replace(COST, minutes=0),
        replace(COST, minutes=None),
    ],
)
def test_nothing_is_left_of_what_is_not_known(cost: object) -> None:
    assert left_of(cost, {MONDAY: 15_000}) is None  # type: ignore[arg-type]


def test_a_week_that_lies_in_a_month_in_part_counts_by_its_days() -> None:
    # The week from 29 March has three days in March: 10,000 * 3 // 7.
    assert taken({date(2027, 3, 29): 10_000}, Period(date(2027, 3, 1), date(2027, 3, 31))) == 4_285
    assert taken({date(2027, 3, 29): 10_000}, Period(date(2027, 4, 1), date(2027, 4, 30))) == 5_715


@given(books, st.integers(0, 400), st.integers(0, 60), st.integers(0, 60))
def test_the_takings_of_any_split_add_up(taken_in: dict[date, int], start: int, first: int, second: int) -> None:
    begin = MONDAY + timedelta(days=start)
    middle, last = begin + timedelta(days=first), begin + timedelta(days=first + second + 1)
    whole = taken(taken_in, Period(begin, last))
    assert whole == taken(taken_in, Period(begin, middle)) + taken(taken_in, Period(middle + timedelta(days=1), last))


def record(first: date, last: date, lessons: int | None = 3, minutes: int | None = 180) -> Teaching:
    return Teaching(first, last, lessons, minutes, 0)


def test_weeks_with_lessons_and_no_takings_are_named() -> None:
    lessons = [
        record(MONDAY, MONDAY),
        record(MONDAY + WEEK, MONDAY + 2 * WEEK),
        record(MONDAY + 3 * WEEK, MONDAY + 3 * WEEK, 0, 0),
        record(MONDAY + 5 * WEEK, MONDAY + 5 * WEEK),
    ]
    assert untold({MONDAY: 1}, lessons, FOUR) == [MONDAY + WEEK, MONDAY + 2 * WEEK]
    assert untold({MONDAY: 1, MONDAY + WEEK: 0, MONDAY + 2 * WEEK: 0}, lessons, FOUR) == []


def test_only_days_within_the_period_count() -> None:
    sunday = MONDAY - timedelta(days=1)
    assert untold({}, [record(sunday - WEEK, sunday)], FOUR) == []
    assert untold({}, [record(sunday - WEEK, MONDAY)], FOUR) == [MONDAY]


def test_lessons_that_are_not_told_may_be_some() -> None:
    assert untold({}, [record(MONDAY, MONDAY, None, None)], FOUR) == [MONDAY]
    assert untold({}, [record(MONDAY, MONDAY, None, 0)], FOUR) == []
    assert untold({}, [record(MONDAY, MONDAY, 0, None)], FOUR) == []


@given(st.dates(date(2020, 1, 1), date(2040, 1, 1)), st.integers(0, 400))
def test_the_mondays_of_a_period_are_those_of_its_days(first: date, more: int) -> None:
    period = Period(first, first + timedelta(days=more))
    days = [first + timedelta(days=number) for number in range(days_in(period))]
    assert mondays_of(period) == sorted({day - timedelta(days=day.weekday()) for day in days})


def test_weeks_end_on_a_sunday() -> None:
    sunday = date(2027, 3, 28)
    assert weeks_ending(sunday, 4) == FOUR
    assert sunday_of(MONDAY) == date(2027, 3, 7)
    assert last_sunday(MONDAY) == date(2027, 2, 28)
    assert last_sunday(date(2027, 3, 7)) == date(2027, 2, 28)
    assert last_sunday(date(2027, 3, 8)) == date(2027, 3, 7)


def test_the_last_weeks_end_with_the_last_that_is_told_and_known() -> None:
    today = date(2027, 4, 1)  # a Thursday; the last week that has ended is that of 22 March
    ended = date(2027, 3, 28)
    all_told = {MONDAY + number * WEEK: 1 for number in range(4)}
    assert told_until(all_told, today, today) == ended
    assert told_until(all_told | {MONDAY + 4 * WEEK: 1}, today, today) == ended
    assert told_until({MONDAY: 1, MONDAY + WEEK: 1}, today, today) == date(2027, 3, 14)
    assert told_until(all_told, date(2027, 3, 20), today) == date(2027, 3, 14)
    assert told_until(all_told, date(2027, 3, 21), today) == date(2027, 3, 21)


def test_while_nothing_is_told_or_it_lies_too_far_back_they_end_with_the_last() -> None:
    today = date(2027, 4, 1)
    ended = date(2027, 3, 28)
    assert told_until({}, today, today) == ended
    assert told_until({MONDAY: 1}, None, today) == ended
    back = ended - timedelta(days=6) - LATE * WEEK
    assert told_until({back: 1}, today, today) == ended - LATE * WEEK
    assert told_until({back - WEEK: 1}, today, today) == ended
