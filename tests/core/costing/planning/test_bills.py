from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costing.core.periods import month_of
from costing.core.records import Period
from costing.planning.core.bills import (
    Bill,
    Bills,
    DayFrom,
    Due,
    Lacks,
    NotKnown,
    Price,
    Source,
    bills_of_due,
    in_order,
    is_not_fitted,
    months_of_cover,
    typed_day,
    year_from,
)
from fleet.core.days import add_months

TODAY = date(2026, 11, 26)
YEAR = Period(TODAY, date(2027, 11, 25))
MARK = "QA51ABC"
PRICE = Price(480_00, Source.LAST_PRICE, date(2026, 2, 3))


def due(on: date | None, **fields: object) -> Due:
    return Due("insurance", "Insurance", MARK, "insurance", on, **fields)  # type: ignore[arg-type]


def days(found: list[Bill | NotKnown]) -> list[date | None]:
    return [one.on for one in found]


# --- What falls due ---------------------------------------------------------------------------------------


def test_the_year_ahead() -> None:
    assert year_from(TODAY) == YEAR
    assert year_from(date(2028, 2, 29)) == Period(date(2028, 2, 29), date(2029, 2, 27))


def test_what_falls_due_is_a_bill_at_its_price() -> None:
    on = date(2027, 5, 1)
    assert list(bills_of_due(due(on), PRICE, YEAR)) == [
        Bill(on, 480_00, "Insurance", Source.LAST_PRICE, MARK, "insurance", DayFrom.RECORDED, date(2026, 2, 3))
    ]


def test_what_is_late_falls_today() -> None:
    [found] = bills_of_due(due(date(2026, 11, 22)), PRICE, YEAR)
    assert isinstance(found, Bill)
    assert (found.on, found.was_due_on) == (TODAY, date(2026, 11, 22))
    [today] = bills_of_due(due(TODAY), PRICE, YEAR)
    assert isinstance(today, Bill)
    assert (today.on, today.was_due_on) == (TODAY, None)


@pytest.mark.parametrize(("on", "is_in"), [(YEAR.last, True), (YEAR.last + timedelta(days=1), False)])
@pytest.mark.parametrize("price", [PRICE, None])
def test_only_the_year_counts(on: date, is_in: bool, price: Price | None) -> None:
    assert bool(list(bills_of_due(due(on), price, YEAR))) is is_in


def test_without_a_price_it_is_not_known() -> None:
    on = date(2027, 5, 1)
    assert list(bills_of_due(due(on), None, YEAR)) == [NotKnown("Insurance", MARK, "insurance", Lacks.PRICE, on)]


@pytest.mark.parametrize("price", [PRICE, None])
def test_without_a_day_it_is_not_known(price: Price | None) -> None:
    assert list(bills_of_due(due(None), price, YEAR)) == [NotKnown("Insurance", MARK, "insurance", Lacks.DAY)]


@pytest.mark.parametrize("on", [date(2027, 5, 1), None])
def test_a_price_of_nothing_is_known(on: date | None) -> None:
    assert not list(bills_of_due(due(on), Price(0, Source.QUOTE), YEAR))


def test_half_a_year_of_cover_comes_twice() -> None:
    half = PRICE._replace(lasts=Period(date(2026, 6, 1), date(2026, 11, 30)))
    found = list(bills_of_due(due(date(2026, 11, 30)), half, YEAR))
    assert days(found) == [date(2026, 11, 30), date(2027, 5, 31)]


@pytest.mark.parametrize(
    ("ends", "again"),
    [
        (date(2027, 2, 28), date(2027, 8, 31)),
        (date(2027, 4, 30), date(2027, 10, 31)),
        (date(2027, 1, 31), date(2027, 7, 31)),
        (date(2027, 2, 27), date(2027, 8, 27)),
    ],
)
def test_half_a_year_that_ends_with_a_month_ends_so_again(ends: date, again: date) -> None:
    half = PRICE._replace(lasts=Period(add_months(ends, -6) + timedelta(days=1), ends))
    assert days(list(bills_of_due(due(ends), half, YEAR))) == [ends, again]


@pytest.mark.parametrize("first", [date(2027, 1, 31), date(2027, 2, 28), date(2026, 11, 30), date(2027, 1, 30)])
def test_monthly_cover_keeps_its_day_through_a_short_month(first: date) -> None:
    month = PRICE._replace(lasts=Period(add_months(first, -1) + timedelta(days=1), first))
    found = days(list(bills_of_due(due(first), month, YEAR)))
    if first.day == 30 and first.month == 1:
        assert found[1:3] == [date(2027, 2, 28), date(2027, 3, 30)]
    else:
        assert all(on == month_of(on).last for on in found if on)
    assert [on.month for on in found[:3] if on] == [(first.month + more - 1) % 12 + 1 for more in range(3)]


def test_what_is_late_ends_no_month_though_today_does() -> None:
    month = PRICE._replace(lasts=Period(date(2026, 10, 16), date(2026, 11, 15)))
    year = Period(date(2026, 11, 30), date(2027, 11, 29))
    assert days(list(bills_of_due(due(date(2026, 11, 15)), month, year)))[:2] == [year.first, date(2026, 12, 30)]


def test_months_are_counted_on_from_what_the_miles_asked_for() -> None:
    found = list(bills_of_due(due(date(2026, 12, 1), every_months=6, every_days=182), PRICE, YEAR))
    assert [(one.on, one.day) for one in found if isinstance(one, Bill)] == [
        (date(2026, 12, 1), DayFrom.RECORDED),
        (date(2027, 6, 1), DayFrom.RECORDED),
    ]
    soon = list(bills_of_due(due(date(2026, 12, 1), every_months=6, every_days=181), PRICE, YEAR))
    assert days(soon) == [date(2026, 12, 1), date(2027, 5, 31)]


def test_cover_says_how_often_before_the_interval_does() -> None:
    whole = PRICE._replace(lasts=Period(date(2025, 12, 1), date(2026, 11, 30)))
    assert len(list(bills_of_due(due(date(2026, 11, 30), every_months=3), whole, YEAR))) == 1


def test_an_interval_of_months() -> None:
    found = list(bills_of_due(due(date(2027, 1, 31), every_months=3), PRICE, YEAR))
    assert days(found) == [date(2027, 1, 31), date(2027, 4, 30), date(2027, 7, 31), date(2027, 10, 31)]


def test_miles_come_before_months() -> None:
    found = list(
        bills_of_due(due(date(2027, 1, 1), day=DayFrom.RECORDED, every_months=12, every_days=150), PRICE, YEAR)
    )
    assert days(found) == [date(2027, 1, 1), date(2027, 5, 31), date(2027, 10, 28)]
    assert [one.day for one in found if isinstance(one, Bill)] == [DayFrom.RECORDED, DayFrom.MILES, DayFrom.MILES]


def test_months_come_before_miles() -> None:
    found = list(bills_of_due(due(date(2027, 1, 1), every_months=6, every_days=300), PRICE, YEAR))
    assert [(one.on, one.day) for one in found if isinstance(one, Bill)] == [
        (date(2027, 1, 1), DayFrom.RECORDED),
        (date(2027, 7, 1), DayFrom.RECORDED),
    ]


def test_miles_alone() -> None:
    found = list(bills_of_due(due(date(2027, 1, 1), day=DayFrom.TREAD, every_days=200), PRICE, YEAR))
    assert [(one.on, one.day) for one in found if isinstance(one, Bill)] == [
        (date(2027, 1, 1), DayFrom.TREAD),
        (date(2027, 7, 20), DayFrom.MILES),
    ]


@pytest.mark.parametrize(
    ("first", "last", "months"),
    [
        (date(2026, 1, 1), date(2026, 12, 31), 12),
        (date(2026, 1, 1), date(2026, 6, 30), 6),
        (date(2026, 1, 1), date(2026, 1, 1), 1),
        (date(2026, 1, 31), date(2026, 2, 27), 1),
        (date(2026, 1, 31), date(2026, 3, 2), 1),
        (date(2026, 1, 15), date(2027, 1, 15), 12),
        # 45 days lie nearer to one month, 46 to two.
        (date(2026, 1, 1), date(2026, 2, 14), 1),
        (date(2026, 1, 1), date(2026, 2, 15), 2),
    ],
)
def test_for_how_many_months_cover_runs(first: date, last: date, months: int) -> None:
    assert months_of_cover(Period(first, last)) == months


# --- What was typed ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("on", "once", "yearly"),
    [
        (TODAY, TODAY, TODAY),
        (YEAR.last, YEAR.last, YEAR.last),
        (date(2027, 11, 26), None, None),
        (date(2026, 11, 25), None, date(2027, 11, 25)),
        (date(2026, 1, 31), None, date(2027, 1, 31)),
        (date(2024, 12, 24), None, date(2026, 12, 24)),
        (date(2024, 2, 29), None, date(2027, 2, 28)),
    ],
)
def test_a_typed_bill_falls_on_its_day_or_its_anniversary(on: date, once: date | None, yearly: date | None) -> None:
    assert typed_day(on, YEAR, is_yearly=False) == once
    assert typed_day(on, YEAR, is_yearly=True) == yearly


@given(st.dates(date(1990, 1, 1), date(2060, 12, 31)), st.dates(date(1990, 1, 1), date(2060, 12, 31)))
def test_a_yearly_bill_that_has_come_once_comes_in_every_year(on: date, today: date) -> None:
    found = typed_day(on, year_from(today), is_yearly=True)
    assert (found is not None) is (on <= year_from(today).last)


# --- Together ---------------------------------------------------------------------------------------------


def test_they_stand_by_day_and_the_dearest_first() -> None:
    small, large, early = (
        Bill(on, pence, "MOT", Source.TYPED) for on, pence in ((date(2027, 3, 1), 1), (date(2027, 3, 1), 2), (TODAY, 1))
    )
    dayless, dated = (
        NotKnown("MOT", MARK, "mot", lacks, on) for lacks, on in ((Lacks.DAY, None), (Lacks.PRICE, TODAY))
    )
    assert in_order([small, dayless, large, early, dated]) == Bills((early, large, small), (dated, dayless))


@pytest.mark.parametrize(
    ("paid_on", "read_on", "fitted_on", "is_new"),
    [
        (None, date(2026, 9, 1), None, False),
        (date(2026, 10, 16), None, None, False),
        (date(2026, 10, 16), date(2026, 10, 15), None, True),
        (date(2026, 10, 16), date(2026, 10, 16), None, False),
        (date(2026, 10, 16), date(2026, 3, 1), date(2026, 9, 14), True),
        (date(2026, 10, 16), date(2026, 3, 1), date(2026, 9, 15), False),
    ],
)
def test_tyres_paid_for_after_the_set_in_the_book_are_not_fitted(
    paid_on: date | None, read_on: date | None, fitted_on: date | None, is_new: bool
) -> None:
    assert is_not_fitted(paid_on, read_on, fitted_on) is is_new


def test_of_what_is_not_fitted_no_day_is_known() -> None:
    tyres = Due("tyres", "Tyres", "QA51ABC", "tyres", None, paid_on=date(2026, 10, 16))
    [found] = bills_of_due(tyres, PRICE, YEAR)
    assert found == NotKnown("Tyres", "QA51ABC", "tyres", Lacks.FITTED, paid_on=date(2026, 10, 16))
