from datetime import date

import pytest

from costing.core.periods import (
    add_months,
    closing_date,
    days_in,
    last_ended_month,
    month_of,
    months_ending,
    months_within,
    overlap,
    spanning,
    tax_year_of,
)
from costing.core.records import Period


def test_both_ends_of_a_period_are_counted() -> None:
    assert days_in(Period(date(2027, 3, 5), date(2027, 3, 5))) == 1
    assert days_in(Period(date(2028, 1, 1), date(2028, 12, 31))) == 366


@pytest.mark.parametrize(
    ("day", "count", "expected"),
    [
        (date(2027, 1, 31), 1, date(2027, 2, 28)),
        (date(2028, 1, 31), 1, date(2028, 2, 29)),
        (date(2027, 1, 31), 2, date(2027, 3, 31)),
        (date(2027, 11, 30), 3, date(2028, 2, 29)),
        (date(2027, 12, 1), 1, date(2028, 1, 1)),
        (date(2028, 3, 31), -1, date(2028, 2, 29)),
        (date(2027, 1, 15), -1, date(2026, 12, 15)),
        (date(2027, 6, 15), 0, date(2027, 6, 15)),
    ],
)
def test_add_months_keeps_the_day_or_takes_the_last_of_a_short_month(day: date, count: int, expected: date) -> None:
    assert add_months(day, count) == expected


def test_month_of_a_day() -> None:
    assert month_of(date(2028, 2, 10)) == (date(2028, 2, 1), date(2028, 2, 29))


@pytest.mark.parametrize("today", [date(2027, 1, 1), date(2027, 1, 31)])
def test_the_month_running_is_not_closed(today: date) -> None:
    assert last_ended_month(today) == (date(2026, 12, 1), date(2026, 12, 31))


def test_months_ending_spans_whole_months() -> None:
    assert months_ending(date(2027, 2, 1), 12) == (date(2026, 3, 1), date(2027, 2, 28))
    assert months_ending(date(2027, 2, 1), 1) == (date(2027, 2, 1), date(2027, 2, 28))


def test_months_within_are_whole_and_in_order() -> None:
    assert months_within(Period(date(2026, 11, 20), date(2027, 2, 1))) == (
        (date(2026, 11, 1), date(2026, 11, 30)),
        (date(2026, 12, 1), date(2026, 12, 31)),
        (date(2027, 1, 1), date(2027, 1, 31)),
        (date(2027, 2, 1), date(2027, 2, 28)),
    )


def test_overlap_is_what_both_spans_have() -> None:
    spring = Period(date(2027, 3, 1), date(2027, 5, 31))

    assert overlap(spring, Period(date(2027, 5, 31), date(2027, 8, 1))) == (
        date(2027, 5, 31),
        date(2027, 5, 31),
    )
    assert overlap(spring, Period(date(2027, 6, 1), date(2027, 8, 1))) is None


@pytest.mark.parametrize(
    ("month", "closed_on"),
    [
        (date(2026, 11, 1), date(2026, 12, 10)),
        (date(2026, 12, 1), date(2027, 1, 10)),
        (date(2028, 1, 31), date(2028, 2, 10)),
    ],
)
def test_a_month_is_closed_on_a_day_of_the_next(month: date, closed_on: date) -> None:
    assert closing_date(month, 10) == closed_on


@pytest.mark.parametrize(
    ("day", "year"),
    [
        (date(2026, 4, 5), Period(date(2025, 4, 6), date(2026, 4, 5))),
        (date(2026, 4, 6), Period(date(2026, 4, 6), date(2027, 4, 5))),
        (date(2026, 12, 31), Period(date(2026, 4, 6), date(2027, 4, 5))),
        (date(2027, 1, 1), Period(date(2026, 4, 6), date(2027, 4, 5))),
    ],
)
def test_a_tax_year_runs_from_6_april_to_5_april(day: date, year: Period) -> None:
    assert tax_year_of(day) == year


def test_what_spans_some_periods_is_from_their_first_day_to_their_last() -> None:
    march, may = Period(date(2026, 3, 1), date(2026, 3, 31)), Period(date(2026, 5, 4), date(2026, 5, 9))
    assert spanning(iter([may, march])) == Period(date(2026, 3, 1), date(2026, 5, 9))
    with pytest.raises(ValueError, match="empty"):
        spanning([])
