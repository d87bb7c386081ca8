from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.core.days import add_months, day_from, month_from, neighbours, weeks_of


@pytest.mark.parametrize(
    ("day", "months", "expected"),
    [
        (date(2026, 3, 16), 1, date(2026, 4, 16)),
        (date(2026, 3, 16), 12, date(2027, 3, 16)),
        (date(2026, 1, 31), 1, date(2026, 2, 28)),
        (date(2028, 2, 29), 12, date(2029, 2, 28)),
        (date(2026, 12, 31), 2, date(2027, 2, 28)),
        (date(2026, 1, 15), -1, date(2025, 12, 15)),
        (date(2026, 3, 31), -1, date(2026, 2, 28)),
    ],
)
def test_months_keep_the_day_or_take_the_last_there_is(day: date, months: int, expected: date) -> None:
    assert add_months(day, months) == expected


MONTHS = st.dates(date(1980, 1, 1), date(2100, 12, 31)).map(lambda day: day.replace(day=1))


@pytest.mark.parametrize(
    ("text", "month"),
    [
        ("2026-03", date(2026, 3, 1)),
        ("1980-01", date(1980, 1, 1)),
        ("2100-12", date(2100, 12, 1)),
        ("1979-12", None),
        ("2101-01", None),
        ("2026-00", None),
        ("2026-13", None),
        ("2026-3", None),
        ("", None),
    ],
)
def test_a_month_is_read_from_an_address(text: str, month: date | None) -> None:
    assert month_from(text) == month


@given(MONTHS)
def test_every_day_of_a_month_is_in_its_weeks_once_monday_first(month: date) -> None:
    days = [day for week in weeks_of(month) for day in week]
    assert days[0].weekday() == 0
    assert days == [days[0] + timedelta(days=number) for number in range(len(days))]
    assert len(days) % 7 == 0
    assert days[0] <= month <= days[6]
    assert (days[-7].month, days[-7].year) == (month.month, month.year)


@given(MONTHS)
def test_leafing_on_and_back_leads_to_the_same_month(month: date) -> None:
    before, after = neighbours(month)
    assert before is None or neighbours(before)[1] == month
    assert after is None or neighbours(after)[0] == month


def test_the_first_and_the_last_month_have_one_neighbour() -> None:
    assert neighbours(date(1980, 1, 1)) == (None, date(1980, 2, 1))
    assert neighbours(date(2100, 12, 1)) == (date(2100, 11, 1), None)


@given(st.dates(date(1980, 1, 1), date(2100, 12, 31)))
def test_every_day_of_the_books_years_is_read_as_it_is_written(day: date) -> None:
    assert day_from(day.isoformat()) == day


@pytest.mark.parametrize(
    "text",
    [
        "",
        "March",
        "2026-03",
        "2026-3-01",
        "20260320",
        "2026-03-00",
        "2026-02-29",
        "2026-04-31",
        "2026-13-01",
        "1979-12-31",
        "2101-01-01",
        "2026-03-20 ",
        "२०२६-०३-२०",
    ],
)
def test_what_is_no_day_of_the_book_is_none(text: str) -> None:
    assert day_from(text) is None
