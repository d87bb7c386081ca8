from datetime import date, timedelta
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costing.core.records import Period
from costing.planning.core.bills import Price, Source
from costing.planning.core.last_price import Paid, last_price
from fleet.core.days import add_months

YEAR = Period(date(2026, 2, 1), date(2027, 1, 31))
PREMIUM = Paid(YEAR.first, 900_00, YEAR)


def renewed(*payments: Paid) -> Price:
    return last_price(payments, is_renewed=True)


def price(pence: int, told_on: date, lasts: Period | None = None, payments: int = 1) -> Price:
    return Price(pence, Source.LAST_PRICE, told_on, lasts, payments=payments)


# --- Worked by hand ---------------------------------------------------------------------------------------


def test_one_payment_is_the_price() -> None:
    assert renewed(PREMIUM) == price(900_00, YEAR.first, YEAR)


@pytest.mark.parametrize("ends", [date(2027, 1, 30), date(2027, 1, 31), date(2027, 2, 1)])
def test_a_fee_for_a_change_is_part_of_the_term(ends: date) -> None:
    fee = Paid(date(2026, 9, 1), 25_00, Period(date(2026, 9, 1), ends))
    assert renewed(PREMIUM, fee) == price(925_00, YEAR.first, YEAR, 2)


@pytest.mark.parametrize("cover", [YEAR, None])
def test_a_deposit_and_instalments_are_added(cover: Period | None) -> None:
    deposit = Paid(YEAR.first, 150_00, YEAR)
    instalments = [Paid(date(2026, month, 1), 50_00, cover) for month in range(3, 13)]
    assert renewed(*instalments, deposit) == price(650_00, YEAR.first, YEAR, 11)


def test_two_halves_of_tax_over_the_year_are_added() -> None:
    halves = [Paid(date(2026, month, 1), 107_25, YEAR) for month in (2, 8)]
    assert renewed(*halves) == price(214_50, YEAR.first, YEAR, 2)


def test_two_halves_of_tax_that_each_cover_half_a_year_are_two_terms() -> None:
    second = Period(date(2026, 8, 1), YEAR.last)
    halves = [Paid(one.first, 107_25, one) for one in (Period(YEAR.first, date(2026, 7, 31)), second)]
    assert renewed(*halves) == price(107_25, second.first, second)


def test_cover_paid_month_by_month_has_terms_of_a_month() -> None:
    months = [Period(date(2026, month, 1), date(2026, month + 1, 1) - timedelta(days=1)) for month in range(1, 12)]
    assert renewed(*(Paid(one.first, 81_00, one) for one in months)) == price(81_00, date(2026, 11, 1), months[-1])


def test_a_term_that_was_paid_before_it_begins() -> None:
    following = Period(date(2027, 2, 1), date(2028, 1, 31))
    ahead = Paid(date(2027, 1, 10), 940_00, following)
    assert renewed(PREMIUM, ahead) == price(940_00, ahead.on, following)


def test_a_few_days_of_cover_after_the_year_are_no_term_of_their_own() -> None:
    bridge = Paid(date(2027, 2, 1), 30_00, Period(date(2027, 2, 1), date(2027, 2, 10)))
    assert renewed(PREMIUM, bridge) == price(900_00, YEAR.first, YEAR)


@pytest.mark.parametrize(
    ("on", "is_part"),
    [
        (date(2026, 1, 31), False),
        (YEAR.first, True),
        (date(2027, 1, 1), True),
        # From here on it may be the next premium.
        (date(2027, 1, 2), False),
        (date(2027, 2, 20), False),
    ],
)
def test_what_was_paid_without_cover_belongs_to_the_term_but_for_its_last_month(on: date, is_part: bool) -> None:
    assert renewed(PREMIUM, Paid(on, 50_00)).pence == (950_00 if is_part else 900_00)


def test_without_cover_what_was_paid_within_eleven_months_is_one_term() -> None:
    instalments = [Paid(date(2026, month, 10), 50_00) for month in range(2, 12)]
    before = Paid(date(2025, 12, 9), 860_00)
    assert renewed(before, *instalments) == price(500_00, date(2026, 2, 10), payments=10)
    endless = [Paid(add_months(date(2026, 1, 31), number), 50_00) for number in range(-5, 12)]
    assert renewed(*endless) == price(600_00, date(2026, 1, 31), payments=12)


def test_what_is_not_renewed_costs_what_was_paid_on_the_last_day() -> None:
    invoices = [Paid(date(2026, 6, 20), 180_00), Paid(date(2026, 6, 20), 25_00), Paid(date(2026, 6, 19), 70_00)]
    assert last_price(invoices, is_renewed=False) == price(205_00, date(2026, 6, 20), payments=2)
    tyres = Paid(date(2026, 6, 20), 310_00, Period(date(2026, 6, 20), date(2028, 6, 19)), 25_000)
    found = last_price([tyres], is_renewed=False)
    assert (found.pence, found.lasts, found.miles) == (310_00, None, 25_000)


def test_without_a_payment_there_is_no_price() -> None:
    with pytest.raises(ValueError, match="empty"):
        renewed()


# --- However it was paid ----------------------------------------------------------------------------------


@given(
    st.lists(st.tuples(st.integers(0, 300), st.integers(1, 90_000), st.booleans()), max_size=12),
    st.integers(331, 366),
    st.randoms(),
)
def test_a_term_costs_all_that_was_paid_for_it(
    parts: list[tuple[int, int, bool]], days: int, any_order: Random
) -> None:
    term = Period(YEAR.first, YEAR.first + timedelta(days=days))
    before = Period(add_months(YEAR.first, -12), YEAR.first - timedelta(days=1))
    payments = [Paid(before.first, 999_99, before), Paid(YEAR.first, 1, term)]
    for after, pence, has_cover in parts:
        on = YEAR.first + timedelta(days=after)
        payments.append(Paid(on, pence, Period(on, term.last) if has_cover else None))
    any_order.shuffle(payments)
    found = renewed(*payments)
    assert (found.lasts, found.pence) == (term, 1 + sum(pence for _, pence, _ in parts))
