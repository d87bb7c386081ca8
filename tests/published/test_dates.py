"""Months added to days, against python-dateutil's relativedelta as a second opinion."""

from datetime import date

from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from costing.core.finance import payment_windows
from costing.core.periods import month_of
from costing.core.records import Agreement
from fleet.core.days import add_months

days = st.dates(date(1990, 1, 1), date(2090, 12, 31))


@given(days, st.integers(-600, 600))
def test_add_months_agrees_with_relativedelta(day: date, count: int) -> None:
    assert add_months(day, count) == day + relativedelta(months=count)


@given(days)
def test_month_of_a_day_agrees_with_relativedelta(day: date) -> None:
    assert month_of(day) == (day + relativedelta(day=1), day + relativedelta(day=31))


@given(days, st.integers(1, 84))
def test_due_days_agree_with_relativedelta_counted_from_the_start(day: date, payments: int) -> None:
    windows = payment_windows(Agreement(day, "pcp", payments=payments))

    assert [window.first for window in windows] == [day + relativedelta(months=k) for k in range(payments)]
    assert windows[-1].last == day + relativedelta(months=payments) - relativedelta(days=1)
