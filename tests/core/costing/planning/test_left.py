"""What is left after the car: takings shared over days, the business share of the true cost, and what is not told."""

from dataclasses import replace
from datetime import date, timedelta
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costing.core.periods import days_in
from costing.core.records import CarBook, Keeping, Logged, Period, Service
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
    weeks_of,
    weeks_with_a_car,
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
    left = left_of(cost, {MONDAY: 15_000, MONDAY + 2 * WEEK: 5_000}, weeks_of(FOUR), 0)
    assert left == Left(weeks_of(FOUR), 20_000, Fraction(8_000), 180)
    assert (left.pence, left.car, left.an_hour, left.a_week) == (12_000, 8_000, 4_000, 3_000)


def test_takings_of_lessons_in_any_car_are_divided_by_the_hours_in_any_car() -> None:
    # £200 for 5 hours, 2 of them in a car that was not kept; £80 of the kept car were for lessons.
    cost = replace(COST, period=FOUR, minutes=180)
    left = left_of(cost, {MONDAY: 20_000}, weeks_of(FOUR), 120)
    assert left == Left(weeks_of(FOUR), 20_000, Fraction(8_000), 300, 120)
    assert left.an_hour == 2_400
    only_elsewhere = left_of(replace(cost, minutes=0), {MONDAY: 20_000}, weeks_of(FOUR), 120)
    assert only_elsewhere == Left(weeks_of(FOUR), 20_000, Fraction(8_000), 120, 120)


def test_only_weeks_with_a_car_are_divided_by() -> None:
    cost, two = replace(COST, period=FOUR, minutes=180), weeks_of(FOUR)[:2]
    left = left_of(cost, {MONDAY: 15_000, MONDAY + WEEK: 5_000, MONDAY + 2 * WEEK: 90_000}, two, 0)
    assert left == Left(two, 20_000, Fraction(8_000), 180)
    assert left.a_week == 6_000


@given(
    st.lists(st.integers(0, 200_000), min_size=4, max_size=4),
    st.lists(st.booleans(), min_size=4, max_size=4),
    st.integers(0, 9_000),
    st.integers(0, 9_000),
)
def test_no_hour_leaves_more_than_was_taken_for_it(
    each: list[int], kept: list[bool], minutes: int, elsewhere: int
) -> None:
    weeks = [week for week, is_kept in zip(weeks_of(FOUR), kept, strict=True) if is_kept]
    taken_in = dict(zip(mondays_of(FOUR), each, strict=True))
    left = left_of(replace(COST, period=FOUR, minutes=minutes), taken_in, weeks, elsewhere)
    if left is None:
        assert minutes + elsewhere == 0
    else:
        taken_then = sum(pence for pence, is_kept in zip(each, kept, strict=True) if is_kept)
        assert left.an_hour <= Fraction(60 * taken_then, minutes + elsewhere)


def test_a_week_counts_if_a_car_was_kept_on_a_day_of_it() -> None:
    service = Service(date(2020, 1, 1), None)
    to_tuesday = CarBook(service, keepings=(Keeping(1, date(2020, 1, 1), MONDAY + timedelta(days=8)),), whose=1)
    from_sunday = CarBook(service, keepings=(Keeping(1, MONDAY + timedelta(days=27), None),), whose=1)
    first, second, _, fourth = weeks_of(FOUR)
    assert weeks_with_a_car([to_tuesday, from_sunday], FOUR) == [first, second, fourth]
    assert weeks_with_a_car([to_tuesday], Period(MONDAY + timedelta(days=9), FOUR.last)) == []
    assert weeks_with_a_car([to_tuesday], Period(MONDAY + timedelta(days=8), FOUR.last)) == [
        Period(MONDAY + timedelta(days=8), MONDAY + timedelta(days=13))
    ]


def test_the_car_may_take_more_than_came_in() -> None:
    left = Left(weeks_of(FOUR), 5_000, Fraction(8_000), 180)
    assert (left.pence, left.an_hour, left.a_week) == (-3_000, -1_000, -750)


def test_pence_are_rounded_half_up_once() -> None:
    left = Left(weeks_of(FOUR), 100, Fraction(1, 2), 60)
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
    assert left_of(cost, {MONDAY: 15_000}, weeks_of(FOUR), 0) is None  # type: ignore[arg-type]


def test_hours_that_are_not_told_of_another_car_leave_it_unknown() -> None:
    assert left_of(replace(COST, minutes=180), {MONDAY: 15_000}, weeks_of(FOUR), None) is None


def test_a_week_that_lies_in_a_month_in_part_counts_by_its_days() -> None:
    # The week from 29 March has three days in March: 10,000 * 3 // 7.
    march, april = Period(date(2027, 3, 1), date(2027, 3, 31)), Period(date(2027, 4, 1), date(2027, 4, 30))
    assert taken({date(2027, 3, 29): 10_000}, weeks_of(march)) == 4_285
    assert taken({date(2027, 3, 29): 10_000}, weeks_of(april)) == 5_715


@given(books, st.integers(0, 400), st.integers(0, 60), st.integers(0, 60))
def test_the_takings_of_any_split_add_up(taken_in: dict[date, int], start: int, first: int, second: int) -> None:
    begin = MONDAY + timedelta(days=start)
    middle, last = begin + timedelta(days=first), begin + timedelta(days=first + second + 1)
    parts = (Period(begin, middle), Period(middle + timedelta(days=1), last))
    assert taken(taken_in, weeks_of(Period(begin, last))) == sum(taken(taken_in, weeks_of(part)) for part in parts)


def record(first: date, last: date, minutes: int | None = 180) -> Logged:
    return Logged(1, first, last, 1, minutes)


def test_weeks_with_lessons_and_no_takings_are_named() -> None:
    lessons = [
        record(MONDAY, MONDAY),
        record(MONDAY + WEEK, MONDAY + 2 * WEEK),
        record(MONDAY + 3 * WEEK, MONDAY + 3 * WEEK, 0),
        record(MONDAY + 5 * WEEK, MONDAY + 5 * WEEK),
    ]
    assert untold({MONDAY: 1}, lessons, weeks_of(FOUR)) == [MONDAY + WEEK, MONDAY + 2 * WEEK]
    assert untold({MONDAY: 1, MONDAY + WEEK: 0, MONDAY + 2 * WEEK: 0}, lessons, weeks_of(FOUR)) == []
    assert untold({MONDAY: 1}, lessons, weeks_of(FOUR)[2:]) == [MONDAY + 2 * WEEK]


def test_only_days_within_the_period_count() -> None:
    sunday = MONDAY - timedelta(days=1)
    assert untold({}, [record(sunday - WEEK, sunday)], weeks_of(FOUR)) == []
    assert untold({}, [record(sunday - WEEK, MONDAY)], weeks_of(FOUR)) == [MONDAY]
    from_tuesday = Period(MONDAY + timedelta(days=1), FOUR.last)
    assert untold({}, [record(sunday - WEEK, MONDAY)], weeks_of(from_tuesday)) == []


def test_lessons_that_are_not_told_may_be_some() -> None:
    assert untold({}, [record(MONDAY, MONDAY, None)], weeks_of(FOUR)) == [MONDAY]


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
