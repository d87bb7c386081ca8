"""Due days of what repeats, against the rules of recurrence of iCalendar (RFC 5545) as python-dateutil has them."""

from datetime import date, datetime, time
from itertools import islice

from dateutil.relativedelta import relativedelta
from dateutil.rrule import MONTHLY, WEEKLY, YEARLY, rrule
from hypothesis import given
from hypothesis import strategies as st

from costing.core.periods import Every
from costing.core.repeats import Repeating, dues

#: By how often: the rule's frequency and interval, and the step from its start.
RULES: dict[Every, tuple[int, int, relativedelta]] = {
    "week": (WEEKLY, 1, relativedelta(weeks=1)),
    "month": (MONTHLY, 1, relativedelta(months=1)),
    "quarter": (MONTHLY, 3, relativedelta(months=3)),
    "year": (YEARLY, 1, relativedelta(years=1)),
}
every = st.sampled_from(sorted(RULES))


@given(st.dates(date(2000, 1, 1), date(2060, 12, 31)).filter(lambda day: day.day <= 28), every, st.integers(1, 80))
def test_due_days_agree_with_the_recurrence_rule_where_every_month_has_the_day(
    start: date, how_often: Every, payments: int
) -> None:
    frequency, interval, _ = RULES[how_often]
    rule = rrule(frequency, interval=interval, count=payments, dtstart=datetime.combine(start, time()))
    found = dues(Repeating(start, how_often, 100, payments))
    assert [due.on for due in found] == [day.date() for day in rule]


@given(st.dates(date(2000, 1, 1), date(2060, 12, 31)), every)
def test_due_days_agree_with_relativedelta_counted_from_the_start(start: date, how_often: Every) -> None:
    step = RULES[how_often][2]
    found = islice(dues(Repeating(start, how_often, 100)), 40)
    assert [due.on for due in found] == [start + number * step for number in range(40)]


@given(st.integers(2000, 2060), st.sampled_from([29, 30, 31]))
def test_the_last_days_of_a_month_agree_with_a_rule_that_takes_the_last_there_is(year: int, day: int) -> None:
    # RFC 5545 leaves out a month without the day; BYSETPOS=-1 takes the last of the days that there are.
    days = list(range(28, day + 1))
    start = datetime(year, 1, day)  # noqa: DTZ001 - a rule of whole days
    rule = rrule(MONTHLY, count=24, dtstart=start, bymonthday=days, bysetpos=-1)
    found = islice(dues(Repeating(date(year, 1, day), "month", 100)), 24)
    assert [due.on for due in found] == [one.date() for one in rule]
