from datetime import date, timedelta
from itertools import islice, pairwise
from typing import get_args
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costing.core.finance import due_day, payment_flows, payment_windows
from costing.core.periods import ONE_DAY, Every
from costing.core.records import Agreement, Period
from costing.core.repeats import Repeating, dues, dues_between, made_ref, next_dues, told_by_hand

LAST_OF_JANUARY = date(2027, 1, 31)
MONTHLY = Repeating(LAST_OF_JANUARY, "month", 4_210)

every = st.sampled_from(get_args(Every))
repeating = st.builds(
    Repeating,
    starts_on=st.dates(date(2000, 1, 1), date(2060, 12, 31)),
    every=every,
    amount=st.integers(1, 100_000),
    payments=st.none() | st.integers(1, 60),
    in_arrears=st.booleans(),
)


def due_on(of: Repeating, count: int) -> list[date]:
    return [due.on for due in islice(dues(of), count)]


def test_a_month_after_31_january_is_28_february_and_the_next_is_31_march() -> None:
    assert due_on(MONTHLY, 4) == [date(2027, 1, 31), date(2027, 2, 28), date(2027, 3, 31), date(2027, 4, 30)]


@pytest.mark.parametrize(
    ("every", "second", "third"),
    [
        ("week", date(2027, 2, 7), date(2027, 2, 14)),
        ("quarter", date(2027, 4, 30), date(2027, 7, 31)),
        ("year", date(2028, 1, 31), date(2029, 1, 31)),
    ],
)
def test_it_falls_due_as_often_as_it_says(every: Every, second: date, third: date) -> None:
    assert due_on(MONTHLY._replace(every=every), 3) == [LAST_OF_JANUARY, second, third]


def test_a_leap_day_comes_back_in_four_years() -> None:
    assert due_on(Repeating(date(2028, 2, 29), "year", 100), 5)[1::3] == [date(2029, 2, 28), date(2032, 2, 29)]


def test_it_ends_with_the_last_payment() -> None:
    assert [due.number for due in dues(MONTHLY._replace(payments=3))] == [1, 2, 3]


def test_each_pays_for_the_days_up_to_the_next() -> None:
    assert [due.days for due in islice(dues(MONTHLY), 2)] == [
        Period(date(2027, 1, 31), date(2027, 2, 27)),
        Period(date(2027, 2, 28), date(2027, 3, 30)),
    ]


def test_in_arrears_each_falls_due_when_its_days_are_over() -> None:
    first = next(dues(MONTHLY._replace(in_arrears=True)))
    assert (first.on, first.days) == (date(2027, 2, 28), Period(date(2027, 1, 31), date(2027, 2, 27)))


def test_fees_come_with_the_first_and_the_final_payment_with_the_last() -> None:
    pcp = MONTHLY._replace(payments=3, fees=15_000, final_payment=540_000)
    assert [due.amount for due in dues(pcp)] == [19_210, 4_210, 544_210]


def test_a_new_sum_counts_from_its_day_on() -> None:
    changed = MONTHLY._replace(next_amount=5_000, next_amount_from=date(2027, 3, 31))
    assert [due.amount for due in islice(dues(changed), 4)] == [4_210, 4_210, 5_000, 5_000]


def test_those_between_two_days_leave_out_the_first_day_and_hold_the_last() -> None:
    assert [due.number for due in dues_between(MONTHLY, date(2027, 1, 31), date(2027, 3, 31))] == [2, 3]
    assert [due.number for due in dues_between(MONTHLY, None, date(2027, 2, 27))] == [1]
    assert [due.number for due in dues_between(MONTHLY._replace(payments=2), None, date(2028, 1, 1))] == [1, 2]


def test_the_next_ones_are_those_after_a_day_as_far_as_there_are_any() -> None:
    assert [due.number for due in next_dues(MONTHLY, None, 2)] == [1, 2]
    assert [due.number for due in next_dues(MONTHLY, date(2027, 2, 28), 2)] == [3, 4]
    assert next_dues(MONTHLY._replace(payments=2), date(2027, 2, 28), 2) == []


# --- One logged by hand ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("logged", "taken"),
    [
        ([], None),
        ([date(2027, 2, 23)], date(2027, 2, 23)),
        ([date(2027, 2, 22)], None),
        ([date(2027, 3, 5)], date(2027, 3, 5)),
        ([date(2027, 3, 6)], None),
        ([date(2027, 3, 2), date(2027, 2, 27)], date(2027, 2, 27)),
        ([date(2027, 3, 1), date(2027, 2, 27)], date(2027, 2, 27)),
    ],
)
def test_one_logged_by_hand_within_five_days_is_taken_the_nearest_first(logged: list[date], taken: date | None) -> None:
    [_, due] = islice(dues(MONTHLY), 2)
    assert told_by_hand(MONTHLY, due, logged) == taken


def test_one_logged_between_two_weekly_due_days_is_taken_for_the_nearer_alone() -> None:
    weekly = MONTHLY._replace(every="week")
    first, second = islice(dues(weekly), 2)
    day = second.on - timedelta(days=4)
    assert [told_by_hand(weekly, due, [day]) for due in (first, second)] == [day, None]


@given(repeating, st.lists(st.integers(-10, 400), max_size=30))
def test_no_entry_logged_by_hand_is_taken_twice(of: Repeating, days: list[int]) -> None:
    logged = {of.starts_on + timedelta(days=number) for number in days}
    until = of.starts_on + timedelta(days=420)
    taken = [day for due in dues_between(of, None, until) if (day := told_by_hand(of, due, logged))]
    assert len(taken) == len(set(taken))


# --- What always holds -----------------------------------------------------------------------------------


@given(repeating, st.integers(0, 1_500), st.integers(0, 1_500))
def test_however_often_one_looks_each_is_found_once(of: Repeating, first: int, second: int) -> None:
    days = sorted(of.starts_on + timedelta(days=number) for number in (first, second))
    in_steps = dues_between(of, None, days[0]) + dues_between(of, days[0], days[1])
    assert in_steps == dues_between(of, None, days[1])
    assert all(one.on < other.on for one, other in pairwise(in_steps))
    assert all(one.days.last + ONE_DAY == other.days.first for one, other in pairwise(in_steps))


@given(
    st.dates(date(2000, 1, 1), date(2060, 12, 31)),
    st.sampled_from(["month", "week"]),
    *[st.integers(0, 900_000)] * 3,
    st.integers(1, 60),
)
def test_an_agreement_falls_due_on_the_days_and_with_the_sums_of_its_own_costs(
    starts_on: date, frequency: Every, payment: int, fees: int, final_payment: int, payments: int
) -> None:
    terms = {"payment": payment, "fees": fees, "final_payment": final_payment, "payments": payments}
    agreement = Agreement(starts_on, "pcp", price=1, frequency=frequency, **terms)
    found = list(dues(Repeating(starts_on, frequency, payment, payments, True, fees, final_payment)))

    assert tuple(due.amount for due in found) == payment_flows(agreement)
    assert tuple(due.days for due in found) == payment_windows(agreement)
    assert [due.on for due in found] == [due_day(agreement, number) for number in range(1, payments + 1)]


def test_the_reference_of_an_entry_rests_on_the_repeat_and_the_day_alone() -> None:
    refs = {made_ref(ref, on) for ref in ("one", "other") for on in (LAST_OF_JANUARY, date(2027, 2, 28))}
    assert len(refs) == 4
    assert made_ref("one", LAST_OF_JANUARY) in refs
    assert all(UUID(ref).version == 5 for ref in refs)
