from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from costing.core.records import Period
from costing.planning.core.bills import Bill
from costing.planning.core.pot import (
    Illness,
    Smallest,
    Weeks,
    balance_needed,
    illness,
    least_in,
    smallest_weekly,
    weeks_off,
    while_ill,
)
from tests.core.costing.planning import purses
from tests.core.costing.planning.purses import TODAY, bill, lowest

WEEKS = Weeks(TODAY)


def on(days: int) -> date:
    return TODAY + timedelta(days=days)


# --- Worked by hand ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(("days", "number", "put_by"), [(0, 1, 0), (6, 1, 0), (7, 2, 1), (13, 2, 1), (14, 3, 2)])
def test_a_weeks_sum_is_there_once_the_week_is_over(days: int, number: int, put_by: int) -> None:
    assert (WEEKS.of(on(days)), WEEKS.put_by(on(days))) == (number, put_by)


def test_a_week_off_puts_nothing_by() -> None:
    weeks = Weeks(TODAY, frozenset({2, 4}))
    assert [weeks.put_by(on(7 * over)) for over in range(6)] == [0, 1, 1, 2, 2, 3]


def test_the_dearest_stretch_decides() -> None:
    # £120 after 4 weeks: £30. £300 after 20 weeks: £15. The first asks for more.
    found = smallest_weekly([bill(28, 120_00), bill(140, 180_00)], 0, WEEKS)
    assert found == Smallest(30_00, on(28))


def test_a_later_stretch_may_decide() -> None:
    # £40 after 4 weeks: £10. £400 by 20 weeks: £20.
    assert smallest_weekly([bill(28, 40_00), bill(140, 360_00)], 0, WEEKS) == Smallest(20_00, on(140))


def test_a_part_of_a_penny_is_a_penny() -> None:
    assert smallest_weekly([bill(21, 100)], 0, WEEKS).weekly == 34


def test_what_is_in_hand_is_spent_first() -> None:
    assert smallest_weekly([bill(28, 120_00)], 80_00, WEEKS) == Smallest(10_00, on(28))


def test_a_balance_that_meets_all_asks_for_nothing() -> None:
    assert smallest_weekly([bill(28, 120_00)], 120_00, WEEKS) == Smallest(0)


def test_no_bill_asks_for_nothing() -> None:
    assert smallest_weekly([], 0, WEEKS) == Smallest(0)


def test_what_comes_before_the_first_sum_has_to_be_there() -> None:
    # £50 today and £20 on day 6 against £30 in hand: £40 is missing; with it, £100 is left to find over 10 weeks.
    found = smallest_weekly([bill(0, 50_00), bill(6, 20_00), bill(70, 100_00)], 30_00, WEEKS)
    assert found == Smallest(10_00, on(70), 40_00, on(6))


def test_a_holiday_first_moves_what_is_missing() -> None:
    weeks = Weeks(TODAY, frozenset({1, 2}))
    assert smallest_weekly([bill(14, 10_00)], 0, weeks) == Smallest(0, None, 10_00, on(14))


def test_a_bill_on_the_day_of_a_sum_is_met_without_it() -> None:
    # The sixth day is the last of the first week: its sum goes in after the bill.
    assert smallest_weekly([bill(6, 5_00)], 0, WEEKS).short == 5_00
    assert smallest_weekly([bill(7, 5_00)], 0, WEEKS) == Smallest(5_00, on(7))


def test_the_balance_that_a_weekly_sum_needs() -> None:
    bills = [bill(28, 120_00), bill(140, 180_00)]
    assert balance_needed(bills, 20_00, WEEKS) == 40_00
    assert balance_needed(bills, 30_00, WEEKS) == 0
    assert balance_needed([], 0, WEEKS) == 0


@pytest.mark.parametrize(
    ("first", "last", "least"),
    [
        # £5 in hand and £15 a week: on the evening of day 6 it goes in, so it is there on day 7.
        (0, 6, 5_00),
        (6, 20, 5_00),
        (7, 27, 20_00),
        # Two bills of day 28, four sums having gone in; and the bill of day 35.
        (7, 28, 15_00),
        (28, 28, 15_00),
        (29, 40, 20_00 - 5_00),
        (35, 40, 20_00),
        # A month without a bill that begins on the day of a sum: it is there on the next day.
        (41, 60, 20_00),
    ],
)
def test_the_least_of_some_days(first: int, last: int, least: int) -> None:
    bills = [bill(28, 30_00), bill(28, 20_00), bill(35, 10_00)]
    assert least_in(bills, 5_00, 15_00, WEEKS, Period(on(first), on(last))) == least


def test_a_week_is_off_if_most_of_its_days_are() -> None:
    until = on(364)
    assert weeks_off(TODAY, [Period(on(3), on(9))], until).off == {1}
    assert weeks_off(TODAY, [Period(on(4), on(9))], until).off == set()
    assert weeks_off(TODAY, [Period(on(-30), on(13))], until).off == {1, 2}
    # Two spans that share days do not count them twice; together they may make a week.
    assert weeks_off(TODAY, [Period(on(7), on(8)), Period(on(8), on(9))], until).off == set()
    assert weeks_off(TODAY, [Period(on(7), on(8)), Period(on(12), on(13))], until).off == {2}
    assert weeks_off(TODAY, [Period(on(361), on(900))], until).off == set()
    assert weeks_off(TODAY, [Period(on(-30), on(-1)), Period(on(400), on(430))], until) == WEEKS


def test_six_weeks_ill_cost_six_weekly_sums_if_all_runs_on() -> None:
    # One bill at the end: whenever the weeks come before it, six of its fifty sums are missing.
    found = illness([bill(350, 500_00)], 0, 10_00, WEEKS, 6)
    assert found == Illness(6, 60_00, TODAY)


def test_an_illness_is_worst_just_before_a_dear_bill() -> None:
    # £40 a week meets £40 each week; two weeks ill leave two of them unmet, whenever they come.
    bills = [bill(7 * week, 40_00) for week in range(1, 11)]
    assert illness(bills, 0, 40_00, WEEKS, 2) == Illness(2, 80_00, TODAY)


def test_what_pauses_is_not_asked_for() -> None:
    # A rental of £40 on the first day of each week but the first pauses with the putting by.
    bills = [bill(7 * week, 40_00, pauses=True) for week in range(1, 11)]
    found = illness(bills, 0, 40_00, WEEKS, 2)
    # Ill in weeks 1 and 2 (days 0 to 13): the bill of day 7 pauses, that of day 14 has no sum before it.
    assert found == Illness(2, 40_00, TODAY)
    left, weeks = while_ill(bills, WEEKS, 2, 2)
    assert [one.on for one in left] == [on(7 * week) for week in range(3, 11)]
    assert weeks.off == {2, 3}


def test_an_illness_that_pauses_the_only_bill_asks_for_less_than_none_at_all() -> None:
    found = illness([bill(10, 100_00, pauses=True)], 0, 0, WEEKS, 2)
    assert found == Illness(2, 100_00, on(14))


def test_with_enough_in_hand_an_illness_asks_for_nothing() -> None:
    assert illness([bill(350, 500_00)], 60_00, 10_00, WEEKS, 6).extra == 0
    assert illness([], 0, 0, WEEKS, 6) == Illness(6, 0, TODAY)


# --- Against the purse that is opened every day -----------------------------------------------------------


@given(purses.bills, purses.balances, purses.weeks)
@settings(max_examples=300)
def test_the_sum_never_goes_below_nought_and_a_penny_less_does(bills: list[Bill], balance: int, weeks: Weeks) -> None:
    found = smallest_weekly(bills, balance, weeks)
    assert lowest(bills, balance + found.short, found.weekly, weeks.off) >= 0
    if found.weekly:
        assert lowest(bills, balance + found.short, found.weekly - 1, weeks.off) < 0
    if found.short:
        assert lowest(bills, balance + found.short - 1, 10**9, weeks.off) < 0


@given(purses.bills, st.integers(0, 20_000), purses.weeks)
@settings(max_examples=300)
def test_the_balance_needed_is_the_lowest(bills: list[Bill], weekly: int, weeks: Weeks) -> None:
    needed = balance_needed(bills, weekly, weeks)
    assert lowest(bills, needed, weekly, weeks.off) >= 0
    assert needed == 0 or lowest(bills, needed - 1, weekly, weeks.off) < 0


@given(
    *(purses.bills, purses.balances, st.integers(0, 20_000), purses.weeks),
    *(st.integers(0, purses.DAYS - 1), st.integers(1, 60)),
)
@settings(max_examples=300)
def test_the_least_of_any_days_is_what_the_purse_shows(
    bills: list[Bill], balance: int, weekly: int, weeks: Weeks, first: int, count: int
) -> None:
    days = Period(on(first), on(first + count - 1))
    found = least_in(bills, balance, weekly, weeks, days)
    assert found == lowest(bills, balance, weekly, weeks.off, range(first, first + count))


@given(purses.bills, purses.balances, st.integers(0, 20_000), purses.weeks, st.integers(1, 12))
@settings(max_examples=60)
def test_the_reserve_survives_an_illness_whenever_it_begins(
    bills: list[Bill], balance: int, weekly: int, weeks: Weeks, count: int
) -> None:
    found = illness(bills, balance, weekly, weeks, count)
    least = []
    for first in range(1, 55):
        ill = frozenset(range(first, first + count))
        days = (on(7 * (first - 1)), on(7 * (first - 1 + count) - 1))
        asked = [one for one in bills if not (one.pauses and days[0] <= one.on <= days[1])]
        least.append(lowest(asked, balance + found.extra, weekly, weeks.off | ill))
    assert min(least) >= 0
    assert found.extra == 0 or min(least) == 0
    worst = WEEKS.of(found.worst_from)
    assert least[worst - 1] == min(least[: max(WEEKS.of(one.on) for one in bills) + 1])
