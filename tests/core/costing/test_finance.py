import math
from datetime import date, timedelta
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costing.core.finance import (
    annual_rate,
    balances,
    hire_schedule,
    interest_schedule,
    lacks_terms,
    payment_flows,
    payment_windows,
    period_rate,
    running_interest,
)
from costing.core.records import Agreement, Frequency

LAST_OF_JANUARY = date(2027, 1, 31)


def hire_purchase(**terms: Any) -> Agreement:
    return Agreement(LAST_OF_JANUARY, "hire_purchase", price=100_000)._replace(**terms)


def test_due_days_are_counted_from_the_start_and_come_back_to_the_31st() -> None:
    assert payment_windows(hire_purchase(payments=3)) == (
        (date(2027, 1, 31), date(2027, 2, 27)),
        (date(2027, 2, 28), date(2027, 3, 30)),
        (date(2027, 3, 31), date(2027, 4, 29)),
    )


def test_weeks_are_seven_days_each() -> None:
    rental = Agreement(date(2027, 2, 22), "weekly_rental", payment=12_900, payments=2, frequency="week")

    assert payment_windows(rental) == (
        (date(2027, 2, 22), date(2027, 2, 28)),
        (date(2027, 3, 1), date(2027, 3, 7)),
    )


def test_fees_fall_with_the_first_payment_and_the_final_payment_with_the_last() -> None:
    terms = {"payment": 18_900, "fees": 15_000, "final_payment": 540_000}

    assert payment_flows(hire_purchase(payments=3, **terms)) == (33_900, 18_900, 558_900)
    assert payment_flows(hire_purchase(payments=1, **terms)) == (573_900,)
    assert payment_flows(hire_purchase(payments=0, **terms)) == ()


@pytest.mark.parametrize(
    ("credit", "flows", "rate"),
    [
        (100_000, [110_000], 0.10),
        (100_000, [60_000, 55_000], 0.10),  # 1,000 + 100 - 600 = 500; 500 + 50 - 550 = 0
        (100_000, [10_000, 10_000, 110_000], 0.10),
        (100_000, [50_000, 50_000], 0.0),
        (100_000, [0, 121_000], 0.10),
        (100_000, [25_000], -0.75),
        (1, [100_000_000], 99_999_999.0),
    ],
)
def test_period_rate_is_the_one_the_payments_answer(credit: int, flows: list[int], rate: float) -> None:
    assert period_rate(credit, flows) == pytest.approx(rate, abs=1e-12, rel=1e-12)


@pytest.mark.parametrize(("credit", "flows"), [(0, [100]), (-5, [100]), (100, []), (100, [0, 0]), (100, [120, -5])])
def test_no_rate_where_nothing_was_lent_or_paid(credit: int, flows: list[int]) -> None:
    assert period_rate(credit, flows) is None


@given(
    st.integers(1, 10**8),
    st.lists(st.integers(0, 10**7), min_size=1, max_size=260).filter(any),
)
def test_period_rate_gives_back_the_credit(credit: int, flows: list[int]) -> None:
    rate = period_rate(credit, flows)

    assert rate is not None
    worth = math.fsum(flow / math.pow(1 + rate, k) for k, flow in enumerate(flows, start=1) if flow)
    # The rate is one float: over 260 periods its last digit moves the worth by about 1e-13 of it,
    # or more where 1 + rate is itself tiny.
    assert worth == pytest.approx(credit, rel=1e-9)


@pytest.mark.parametrize(
    ("rate", "frequency", "yearly"),
    [
        (0.0, "month", 0.0),
        (0.1, "month", 1.1**12 - 1),
        (0.002, "week", 1.002**52 - 1),
        (1e30, "week", math.inf),
    ],
)
def test_annual_rate_compounds_12_months_or_52_weeks(rate: float, frequency: Frequency, yearly: float) -> None:
    assert annual_rate(rate, frequency) == pytest.approx(yearly)


def test_balances_run_from_the_credit_to_nothing() -> None:
    assert balances(0.10, [60_000, 55_000]) == pytest.approx([100_000, 50_000, 0])


def test_interest_of_each_payment_by_hand() -> None:
    # 10 % a month: 100.00 on 1,000.00, then 50.00 on the 500.00 left; the fee counts as paid with
    # the first instalment.
    agreement = hire_purchase(payment=55_000, payments=2, fees=5_000)

    assert interest_schedule(agreement) == (
        (date(2027, 1, 31), date(2027, 2, 27), 10_000),
        (date(2027, 2, 28), date(2027, 3, 30), 5_000),
    )


def test_interest_of_a_final_payment_by_hand() -> None:
    agreement = hire_purchase(payment=10_000, payments=3, final_payment=100_000)._replace(kind="pcp")

    assert [span.amount for span in interest_schedule(agreement)] == [10_000, 10_000, 10_000]


def test_interest_is_rounded_on_its_running_total() -> None:
    # 1,000 x^2 = 550 x + 550 gives x = 1.0659646: 65.9646 by the first payment, 100.00 by both.
    assert running_interest(100_000, [55_000, 55_000]) == [0, 6_596, 10_000]


def test_a_deposit_lessens_the_credit() -> None:
    agreement = hire_purchase(price=130_000, deposit=30_000, payment=55_000, payments=2, fees=5_000)

    assert [span.amount for span in interest_schedule(agreement)] == [10_000, 5_000]


def test_interest_free_credit_costs_nothing() -> None:
    assert {span.amount for span in interest_schedule(hire_purchase(payment=25_000, payments=4))} == {0}


def test_less_paid_than_lent_is_interest_below_zero() -> None:
    # 1,000 x^2 = 450 x + 450 gives x = 0.9325486: -67.4514 by the first payment.
    assert running_interest(100_000, [45_000, 45_000]) == [0, -6_745, -10_000]


def test_payments_on_no_credit_are_all_interest_shared_evenly() -> None:
    agreement = hire_purchase(deposit=100_000, payment=5_001, payments=2)

    assert [span.amount for span in interest_schedule(agreement)] == [5_001, 5_001]


@pytest.mark.parametrize(
    ("agreement", "lacking"),
    [
        (hire_purchase(payment=5_000, payments=24), False),
        (hire_purchase(payment=5_000, payments=24)._replace(price=None), True),
        (hire_purchase(payment=5_000), True),
        (hire_purchase(payments=24), True),
        (Agreement(LAST_OF_JANUARY, "owned"), False),
        (Agreement(LAST_OF_JANUARY, "contract_hire", payment=31_000, payments=36), False),
        (Agreement(LAST_OF_JANUARY, "contract_hire", payment=31_000, payments=1), False),
        (Agreement(LAST_OF_JANUARY, "weekly_rental", payment=12_900), True),
    ],
)
def test_terms_that_are_lacking(agreement: Agreement, lacking: bool) -> None:
    assert lacks_terms(agreement) is lacking


def test_without_terms_there_is_no_schedule() -> None:
    assert interest_schedule(hire_purchase(payment=5_000, payments=24)._replace(price=None)) == ()
    assert hire_schedule(Agreement(LAST_OF_JANUARY, "weekly_rental", payment=12_900)) == ()


def test_each_kind_of_agreement_has_only_its_own_schedule() -> None:
    credit = hire_purchase(payment=60_000, payments=2)
    hire = Agreement(LAST_OF_JANUARY, "contract_hire", 100_000, payment=60_000, payments=2)
    owned = Agreement(LAST_OF_JANUARY, "owned", 100_000, payment=60_000, payments=2)

    assert [bool(interest_schedule(a)) for a in (credit, hire, owned)] == [True, False, False]
    assert [bool(hire_schedule(a)) for a in (credit, hire, owned)] == [False, True, False]


def test_an_initial_rental_covers_the_whole_term_and_fees_the_first_payment() -> None:
    hire = Agreement(date(2027, 1, 15), "contract_hire", deposit=186_000, payment=31_000, payments=3, fees=12_000)

    assert hire_schedule(hire) == (
        (date(2027, 1, 15), date(2027, 2, 14), 43_000),
        (date(2027, 2, 15), date(2027, 3, 14), 31_000),
        (date(2027, 3, 15), date(2027, 4, 14), 31_000),
        (date(2027, 1, 15), date(2027, 4, 14), 186_000),
    )


agreements = st.builds(
    Agreement,
    starts_on=st.dates(date(2020, 1, 1), date(2030, 12, 31)),
    kind=st.sampled_from(["hire_purchase", "pcp"]),
    price=st.integers(0, 5_000_000),
    deposit=st.integers(0, 1_000_000),
    payment=st.integers(1, 90_000),
    payments=st.integers(1, 84),
    frequency=st.sampled_from(["month", "week"]),
    final_payment=st.integers(0, 1_500_000),
    fees=st.integers(0, 40_000),
)


@given(agreements)
def test_interest_adds_up_to_what_is_paid_over_the_cash_price(agreement: Agreement) -> None:
    paid = agreement.payment * agreement.payments + agreement.final_payment + agreement.fees

    interest = sum(span.amount for span in interest_schedule(agreement))
    assert interest == paid - ((agreement.price or 0) - agreement.deposit)


@given(agreements)
def test_payment_windows_leave_no_day_out(agreement: Agreement) -> None:
    windows = payment_windows(agreement)

    assert windows[0].first == agreement.starts_on
    assert all(later.first - earlier.last == timedelta(days=1) for earlier, later in pairwise(windows))
    assert all(window.first <= window.last for window in windows)
