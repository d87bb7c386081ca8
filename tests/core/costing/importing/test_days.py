"""Days in any usual British writing, and the order of a whole column."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costing.importing.core.days import read_days

DAY = date(2026, 3, 5)
DAYS = st.dates(date(2000, 1, 1), date(2099, 12, 31))


@pytest.mark.parametrize(
    "text",
    [
        *("5/3/2026", "05/03/2026", "05-03-26", "5.3.26", "5 3 2026", "2026-03-05", "2026/03/05", "20260305"),
        *("5 March 2026", "5th March 2026", "5 Mar 26", "5-Mar-2026", "05 MAR 2026", "Mar 5, 2026", "March 5th 2026"),
        *("Thu 5 Mar 2026", "Thursday, 5 March 2026", "5/3/2026 10:31", "2026-03-05T10:31:00Z", "5/3/2026 9:05 pm"),
        *("46086", "46086.5", " 5/3/2026 ", "2026-03-05T00:00:00+01:00"),
    ],
)
def test_one_day_is_written_in_many_ways(text: str) -> None:
    assert read_days([text]).days == (DAY,)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "x",
        "5 Marhc 2026",
        "31/2/2026",
        "31/31/2026",
        "0/0/0000",
        "2026-13-01",
        "29220",
        "73416",
        "5/3",
        "2026",
        "May",
    ],
)
def test_what_is_no_day_is_none(text: str) -> None:
    assert read_days([text]).days == (None,)


def test_spreadsheets_count_from_1980_to_2100() -> None:
    assert read_days(["29221", "73415"]).days == (date(1980, 1, 1), date(2100, 12, 31))


def test_a_column_that_could_be_of_either_order_is_day_first_and_says_so() -> None:
    read = read_days(["5/3/2026", "6/3/2026", "2026-03-07"])
    assert (read.days, read.is_open, read.is_month_first) == (
        (DAY, date(2026, 3, 6), date(2026, 3, 7)),
        True,
        False,
    )


def test_one_day_settles_the_order_of_its_column() -> None:
    month_first = read_days(["3/5/2026", "3/25/2026"])
    assert month_first.days == (DAY, date(2026, 3, 25))
    assert (month_first.is_month_first, month_first.is_open) == (True, False)
    day_first = read_days(["3/5/2026", "25/3/2026"])
    assert day_first.days == (date(2026, 5, 3), date(2026, 3, 25))
    assert (day_first.is_month_first, day_first.is_open) == (False, False)


def test_a_column_that_contradicts_itself_names_both_places() -> None:
    assert read_days(["1/1/2026", "3/25/2026", "25/3/2026", "26/3/2026"]).at_odds == (2, 1)


def test_a_column_without_numbers_has_no_order() -> None:
    assert read_days(["5 March 2026", "31/31/2026"])[1:] == (False, True, None)
    assert read_days(["5 March 2026"])[1:] == (False, False, None)


@given(st.lists(DAYS, min_size=1), st.booleans())
def test_a_column_written_in_one_order_is_read_in_it_unless_it_says_nothing(
    days: list[date], is_month_first: bool
) -> None:
    pattern = "{0.month}/{0.day}/{0.year}" if is_month_first else "{0.day}/{0.month}/{0.year}"
    read = read_days([pattern.format(day) for day in days])
    assert read.at_odds is None
    if not is_month_first or not read.is_open:
        assert list(read.days) == days


@given(DAYS)
def test_a_serial_day_is_the_day(day: date) -> None:
    assert read_days([str((day - date(1899, 12, 30)) // timedelta(days=1))]).days == (day,)


@given(st.lists(st.text(max_size=30)))
def test_whatever_stands_there_is_a_day_or_none(cells: list[str]) -> None:
    assert len(read_days(cells).days) == len(cells)
