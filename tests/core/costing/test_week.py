"""A week of lessons: what is in the book, what is proposed, and how hours and miles fall on its days."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costing.core.week import (
    DayShare,
    Taught,
    first_to_log,
    logged_by_day,
    monday_of,
    pattern_of,
    shared_out,
    usual_minutes,
)

MONDAY = date(2026, 3, 9)


def on(number: int) -> date:
    return MONDAY + timedelta(days=number)


def taught(first: int, last: int, lessons: int | None, minutes: int | None = 60) -> Taught:
    return Taught(on(first), on(last), lessons, minutes)


def test_a_week_begins_on_monday() -> None:
    assert [monday_of(on(number)) for number in (0, 3, 6, 7)] == [MONDAY, MONDAY, MONDAY, on(7)]


def test_what_is_logged_by_day() -> None:
    records = [taught(0, 0, 3), taught(0, 0, 2), taught(1, 1, None), taught(2, 3, 5), taught(3, 3, 1), taught(4, 5, 0)]
    found = logged_by_day(records)
    assert found == {on(0): 5, on(1): None, on(2): None, on(3): None, on(4): 0, on(5): 0}


def test_the_pattern_is_the_last_of_each_weekday() -> None:
    records = [taught(-7, -1, 14), taught(-7, -7, 1), taught(0, 0, 9), taught(-14, -14, 8), taught(-3, -3, None)]
    assert pattern_of(records, MONDAY) == [3, 2, 2, 2, 2, 2, 2]
    assert pattern_of([], MONDAY) == [0] * 7
    assert pattern_of([taught(-2, 1, 4)], MONDAY) == [0, 0, 0, 0, 0, 1, 1]


def test_what_a_lesson_takes() -> None:
    records = [taught(0, 0, 2, 150), taught(1, 1, 1, 60), taught(2, 2, 1, 90), taught(3, 3, None), taught(4, 4, 0, 0)]
    assert usual_minutes(records) == 75
    assert usual_minutes([]) == 60


def test_a_week_shared_out() -> None:
    assert shared_out({on(1): 1, on(0): 2}, 100, 5) == [DayShare(on(0), 2, 66, 2), DayShare(on(1), 1, 34, 3)]
    assert shared_out({on(0): 0}, 0, None) == [DayShare(on(0), 0, 0, None)]
    assert shared_out({on(0): 4}, None, 0) == [DayShare(on(0), 4, None, 0)]


@pytest.mark.parametrize(("lessons", "minutes"), [({on(0): 1}, 1441), ({on(0): 1, on(1): 1}, 1)])
def test_hours_that_no_day_has_are_refused(lessons: dict[date, int], minutes: int) -> None:
    with pytest.raises(ValueError, match="minutes of a day"):
        shared_out(lessons, minutes, None)


@given(
    lessons=st.dictionaries(st.integers(0, 6).map(on), st.integers(0, 12), min_size=1),
    each=st.integers(1, 100),
    more=st.integers(0, 11),
    private=st.none() | st.integers(0, 999),
)
def test_the_sums_are_exact(lessons: dict[date, int], each: int, more: int, private: int | None) -> None:
    told = sum(lessons.values())
    minutes = told * each + more if told else 0
    shares = shared_out(lessons, minutes, private)
    assert {one.day: one.lessons for one in shares} == lessons
    assert sum(one.minutes or 0 for one in shares) == minutes
    assert all(not one.minutes for one in shares if not one.lessons)
    if private is None:
        assert {one.private_miles for one in shares} == {None}
    else:
        assert sum(one.private_miles or 0 for one in shares) == private
        assert max(one.private_miles or 0 for one in shares) - min(one.private_miles or 0 for one in shares) <= 1


def test_the_week_to_log() -> None:
    before = [on(number) for number in range(-7, 0)]
    assert first_to_log(MONDAY, before[1:], before) == on(-7)
    assert first_to_log(MONDAY, before, before) == MONDAY
    assert first_to_log(MONDAY, [], []) == MONDAY
    assert first_to_log(MONDAY, before[3:], before[3:]) == MONDAY
