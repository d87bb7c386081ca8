from datetime import date, timedelta
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costing.core.records import Period
from costing.core.repeats import Repeating
from costing.planning.core.bills import Price, Source
from costing.planning.core.last_price import Occurs, Paid, beside, last_price
from fleet.core.days import add_months

YEAR = Period(date(2026, 2, 1), date(2027, 1, 31))
PREMIUM = Paid(YEAR.first, 900_00, YEAR)


def renewed(*payments: Paid) -> Price:
    found = last_price(payments, Occurs.TERM)
    assert found is not None
    return found


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


# --- Paid before it begins --------------------------------------------------------------------------------

RENEWAL = Period(date(2027, 2, 1), date(2028, 1, 31))


@pytest.mark.parametrize(
    ("on", "is_part"),
    [(date(2027, 1, 14), False), (date(2027, 1, 15), True), (date(2027, 1, 31), True), (date(2027, 2, 1), True)],
)
def test_a_fee_after_a_renewal_was_paid_and_before_it_begins_is_part_of_it(on: date, is_part: bool) -> None:
    paid = Paid(date(2027, 1, 15), 640_00, RENEWAL)
    assert renewed(PREMIUM, paid, Paid(on, 15_00)).pence == (655_00 if is_part else 640_00)


def test_what_was_paid_more_than_a_month_before_it_begins_belongs_to_the_term_before() -> None:
    paid = Paid(date(2026, 12, 1), 640_00, RENEWAL)
    assert renewed(PREMIUM, paid, Paid(date(2026, 12, 31), 15_00)).pence == 640_00
    assert renewed(PREMIUM, paid, Paid(date(2027, 1, 1), 15_00)).pence == 655_00


# --- Ended or refunded ------------------------------------------------------------------------------------

CANCELLED = Paid(date(2025, 12, 20), 600_00, Period(date(2025, 12, 20), date(2026, 12, 19)))
FOLLOWING = Paid(date(2026, 4, 1), 500_00, Period(date(2026, 4, 1), date(2026, 12, 31)))


def ended(paid: Paid, on: date) -> Paid:
    return paid._replace(ended_on=on)


def test_what_follows_a_cancelled_policy_is_another_term() -> None:
    left = Paid(date(2026, 4, 2), -400_00)
    found = renewed(ended(CANCELLED, date(2026, 3, 31)), left, FOLLOWING)
    assert found == price(500_00, FOLLOWING.on, FOLLOWING.cover)


def test_a_fee_for_a_change_ended_with_the_policy_that_it_changed() -> None:
    fee = Paid(date(2026, 2, 1), 15_00, Period(date(2026, 2, 1), date(2026, 12, 19)))
    cancelled = ended(CANCELLED, date(2026, 3, 31))
    assert renewed(cancelled, fee, FOLLOWING).pence == 500_00
    assert renewed(cancelled, fee) == price(615_00, CANCELLED.on, CANCELLED.cover, 2)
    # One that ends elsewhere is none of it.
    other = Paid(date(2026, 2, 1), 15_00, Period(date(2026, 2, 1), date(2026, 11, 19)))
    assert renewed(cancelled, other) == price(15_00, other.on, other.cover)


def test_a_policy_that_was_cancelled_and_followed_by_none_cost_what_was_paid_for_its_year() -> None:
    assert renewed(ended(CANCELLED, date(2026, 3, 31))) == price(600_00, CANCELLED.on, CANCELLED.cover)


def test_a_policy_that_was_replaced_within_days_is_no_payment_of_the_next() -> None:
    again = Paid(date(2025, 12, 22), 640_00, CANCELLED.cover)
    for on in (date(2025, 12, 20), date(2025, 12, 22)):
        assert renewed(ended(CANCELLED, on), again) == price(640_00, again.on, again.cover)


@pytest.mark.parametrize("refunded_on", [date(2025, 12, 20), date(2026, 3, 1)])
def test_what_was_refunded_in_full_is_no_price(refunded_on: date) -> None:
    again = Paid(date(2025, 12, 22), 640_00, CANCELLED.cover)
    refund = Paid(refunded_on, -600_00)
    assert renewed(refund, again, CANCELLED) == price(640_00, again.on, again.cover)
    assert last_price([refund, CANCELLED], Occurs.TERM) is None
    # One of two equal payments was refunded; and a refund of what was never paid, or before it was, changes nothing.
    assert renewed(CANCELLED, CANCELLED, refund).pence == 600_00
    assert renewed(CANCELLED, refund._replace(pence=-599_99)).pence == 600_00
    assert renewed(CANCELLED, refund._replace(on=date(2025, 12, 19))).pence == 600_00


def test_what_ended_as_it_began_is_no_price() -> None:
    assert last_price([ended(CANCELLED, date(2025, 12, 20))], Occurs.TERM) is None
    assert renewed(ended(CANCELLED, date(2025, 12, 21))).pence == 600_00


# --- Visits and tests -------------------------------------------------------------------------------------


def test_a_visit_costs_what_was_paid_within_four_weeks() -> None:
    last = date(2026, 6, 28)
    invoices = [Paid(last, 30_00), Paid(date(2026, 6, 1), 90_00), Paid(date(2026, 5, 31), 70_00)]
    assert last_price(invoices, Occurs.VISIT) == price(120_00, last, payments=2)
    assert last_price(invoices[1:], Occurs.VISIT) == price(160_00, date(2026, 6, 1), payments=2)
    tyres = Paid(last, 310_00, Period(last, date(2028, 6, 27)), 25_000)
    pair = tyres._replace(on=date(2026, 6, 20), miles=20_000)
    assert last_price([tyres, pair, pair._replace(miles=None)], Occurs.VISIT) == Price(
        930_00, Source.LAST_PRICE, last, miles=20_000, payments=3
    )


def test_a_test_that_was_failed_costs_what_the_test_did() -> None:
    test, again = Paid(date(2026, 12, 10), 54_85), Paid(date(2026, 12, 15), 20_00)
    assert last_price([again, test], Occurs.TEST) == price(54_85, test.on)
    # Four weeks later it is another one.
    assert last_price([again._replace(on=date(2027, 1, 7)), test], Occurs.TEST) == price(20_00, date(2027, 1, 7))
    assert last_price([again._replace(on=date(2027, 1, 6)), test], Occurs.TEST) == price(54_85, test.on)


@pytest.mark.parametrize("occurs", Occurs)
def test_without_a_payment_there_is_no_price(occurs: Occurs) -> None:
    assert last_price([], occurs) is None


# --- Beside what repeats ----------------------------------------------------------------------------------

TEN = Repeating(date(2026, 1, 20), "month", 45_00, 10)
DEPOSIT = Paid(date(2025, 12, 20), 100_00, CANCELLED.cover)


def logged(terms: Repeating, *days: int) -> list[Paid]:
    """Each of ten payments by hand, so many days after its own day."""
    return [Paid(add_months(terms.starts_on, number) + timedelta(days=late), 45_00) for number, late in enumerate(days)]


def test_what_was_logged_for_a_due_day_is_that_of_what_repeats() -> None:
    by_hand = logged(TEN, 0, 1, -1, 5, -5, 0, 2, 3, 0, 0)
    assert beside([*by_hand, DEPOSIT], TEN, None) == [DEPOSIT]
    assert renewed(*beside([DEPOSIT, *by_hand], TEN, None)) == price(100_00, DEPOSIT.on, DEPOSIT.cover)
    assert beside([], TEN, None) == []


def test_what_no_due_day_takes_stays() -> None:
    late, other, twice = Paid(date(2026, 1, 26), 45_00), Paid(date(2026, 3, 20), 45_01), Paid(date(2026, 3, 20), 45_00)
    assert beside([late, other, twice, twice], TEN, None) == [late, other, twice]
    # It was stopped before the third; and the eleventh is none of its ten.
    assert beside([twice], TEN, date(2026, 3, 19)) == [twice]
    assert beside([twice], TEN, date(2026, 3, 20)) == []
    eleventh = Paid(date(2026, 11, 20), 45_00)
    assert beside([eleventh], TEN, None) == [eleventh]


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
