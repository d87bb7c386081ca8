from datetime import date

import pytest

from costing.core.records import Period
from costing.core.repeats import Repeating
from costing.planning.core.bills import Bill, Due, Price, Source
from costing.planning.core.paid_again import (
    Payments,
    begins_after_renewal,
    bills_as_paid,
    bills_of_payments,
    last_payment_on,
    paid_ahead,
    pays_all,
    pays_at_all,
    pays_last_cover,
    price_of_payments,
    taken_until,
    with_logged,
    with_payments,
)
from fleet.core.days import add_months

TODAY = date(2026, 11, 26)
YEAR = Period(TODAY, date(2027, 11, 25))
MARK = "QA51ABC"

HIRE = Repeating(date(2026, 10, 1), "week", 150_00, in_arrears=True)


def test_instalments_with_their_numbers_and_the_final_payment_by_itself() -> None:
    terms = Repeating(date(2024, 12, 10), "month", 189_00, 26, in_arrears=True, final_payment=5_400_00)
    paid = Payments(terms, "Finance instalment", MARK, "finance", Source.INSTALMENT, 26, has_choice=True)
    found = list(bills_of_payments(paid, TODAY, YEAR.last))
    assert [(one.on, one.pence, one.source, one.number, one.may_go_back) for one in found] == [
        (date(2026, 12, 10), 189_00, Source.INSTALMENT, 24, False),
        (date(2027, 1, 10), 189_00, Source.INSTALMENT, 25, False),
        (date(2027, 2, 10), 189_00, Source.INSTALMENT, 26, False),
        (date(2027, 2, 10), 5_400_00, Source.FINAL, 26, True),
    ]
    assert {one.out_of for one in found} == {26}


def test_a_final_payment_that_is_all_there_is() -> None:
    terms = Repeating(date(2026, 12, 10), "month", 0, 1, final_payment=900_00)
    [found] = bills_of_payments(Payments(terms, "", MARK, "finance", Source.INSTALMENT, 1), TODAY, YEAR.last)
    assert (found.pence, found.source) == (900_00, Source.FINAL)


def test_the_fees_come_with_the_first_instalment() -> None:
    terms = Repeating(date(2026, 12, 10), "month", 189_00, 3, fees=10_00)
    found = bills_of_payments(Payments(terms, "", MARK, "finance", Source.INSTALMENT, 3), TODAY, YEAR.last)
    assert [one.pence for one in found] == [199_00, 189_00, 189_00]


def test_a_hire_rolls_on_past_its_term() -> None:
    paid = Payments(HIRE, "Rental payment", MARK, "rental", Source.INSTALMENT, 9, pauses=True)
    found = list(bills_of_payments(paid, TODAY, date(2026, 12, 10)))
    assert [(one.on, one.source, one.number, one.pauses) for one in found] == [
        (date(2026, 12, 3), Source.INSTALMENT, 9, True),
        (date(2026, 12, 10), Source.ROLLS, 10, True),
    ]


def test_what_repeats_without_end_has_no_numbers() -> None:
    found = bills_of_payments(Payments(HIRE, "", MARK, "insurance", Source.REPEAT), TODAY, date(2026, 12, 3))
    assert [(one.on, one.number, one.source) for one in found] == [(date(2026, 12, 3), 0, Source.REPEAT)]


TEN = Repeating(date(2026, 1, 3), "month", 42_10, 10)


def test_the_last_payment_of_what_repeats() -> None:
    assert last_payment_on(TEN, None, YEAR.last) == date(2026, 10, 3)
    assert last_payment_on(TEN, date(2026, 4, 3), YEAR.last) == date(2026, 4, 3)
    assert last_payment_on(TEN, date(2026, 4, 2), YEAR.last) == date(2026, 3, 3)
    # It goes on beyond the year, with or without an end of its own.
    assert last_payment_on(HIRE, None, YEAR.last) is None
    assert last_payment_on(TEN, None, date(2026, 10, 2)) is None
    assert last_payment_on(TEN, None, date(2026, 10, 3)) == date(2026, 10, 3)
    assert last_payment_on(HIRE, date(2026, 10, 20), YEAR.last) == date(2026, 10, 15)


def test_what_is_stopped_before_its_first_payment_pays_nothing() -> None:
    assert [pays_at_all(TEN, on) for on in (date(2026, 1, 2), date(2026, 1, 3), None)] == [False, True, True]
    # The first of an agreement's comes a week after it begins.
    assert [pays_at_all(HIRE, on) for on in (date(2026, 10, 7), date(2026, 10, 8))] == [False, True]


def test_what_begins_a_month_after_a_renewal_does_not_pay_it() -> None:
    assert not begins_after_renewal(TEN, date(2025, 12, 3))
    assert begins_after_renewal(TEN, date(2025, 12, 2))


def test_what_the_payments_of_a_year_came_to() -> None:
    found = price_of_payments(TEN, date(2026, 10, 3))
    assert found == Price(421_00, Source.LAST_PAYMENTS, date(2026, 10, 3), payments=10)
    years = price_of_payments(TEN._replace(payments=30), date(2028, 6, 3))
    assert years == Price(12 * 42_10, Source.LAST_PAYMENTS, date(2028, 6, 3), payments=12)
    assert price_of_payments(TEN, date(2026, 1, 2)) is None
    # One of them was paid by hand, at £45.00.
    by_hand = price_of_payments(TEN, date(2026, 10, 3), by_hand={date(2026, 4, 3): 45_00, date(2025, 4, 3): 1})
    assert by_hand == Price(421_00 - 42_10 + 45_00, Source.LAST_PAYMENTS, date(2026, 10, 3), payments=10)


# --- What is paid already ---------------------------------------------------------------------------------

LOAN = Repeating(date(2025, 9, 8), "month", 189_00, 16, in_arrears=True, fees=10_00, final_payment=500_00)


def numbers(paid: Payments) -> list[tuple[date, int, int]]:
    return [(one.on, one.number, one.pence) for one in bills_of_payments(paid, TODAY, YEAR.last)]


def test_payments_ahead_of_their_days_end_sooner_but_for_the_final_payment() -> None:
    paid = Payments(LOAN, "", MARK, "finance", Source.INSTALMENT, 16, ahead=1)
    assert numbers(paid) == [(date(2026, 12, 8), 16, 189_00), (date(2027, 1, 8), 16, 500_00)]


def test_fees_that_were_paid_with_the_first_instalment_are_not_asked_again() -> None:
    terms = LOAN._replace(starts_on=date(2026, 11, 20), payments=3)
    assert numbers(Payments(terms, "", MARK, "finance", Source.INSTALMENT, 3, ahead=1)) == [
        (date(2026, 12, 20), 2, 189_00),
        (date(2027, 1, 20), 3, 189_00),
        (date(2027, 2, 20), 3, 500_00),
    ]


def test_what_is_paid_otherwise_leaves_the_final_payment() -> None:
    paid = Payments(LOAN, "", MARK, "finance", Source.INSTALMENT, 16, met_until=date(2027, 1, 8))
    assert numbers(paid) == [(date(2027, 1, 8), 16, 500_00)]
    assert numbers(paid._replace(met_until=date(2027, 1, 7)))[0] == (date(2027, 1, 8), 16, 189_00)
    assert numbers(paid._replace(out_of=0)) == [(date(2027, 1, 8), 0, 500_00)]


def test_how_many_are_paid_ahead() -> None:
    # By 25 November 14 have fallen due.
    yesterday = date(2026, 11, 25)
    assert [paid_ahead(LOAN, yesterday, paid) for paid in (0, 14, 15, 17)] == [0, 0, 1, 3]


def test_the_next_instalment_tells_how_many_of_those_that_were_due_are_logged() -> None:
    paid = with_logged(Payments(LOAN, "", MARK, "finance", Source.INSTALMENT, 16), date(2026, 11, 25), 13)
    found = list(bills_of_payments(paid, TODAY, YEAR.last))
    assert [(one.number, one.were_due, one.logged) for one in found] == [(15, 14, 13), (16, 0, 0), (16, 0, 0)]


@pytest.mark.parametrize(
    ("paid_on", "until"),
    [
        (date(2026, 12, 2), date(2026, 11, 25)),
        (date(2026, 12, 3), date(2026, 12, 8)),
        (date(2026, 12, 8), date(2026, 12, 8)),
        (date(2026, 11, 8), date(2026, 11, 25)),
    ],
)
def test_what_was_paid_soon_before_a_due_day_is_taken_for_it(paid_on: date, until: date) -> None:
    assert taken_until(LOAN, date(2026, 11, 25), paid_on) == until


def test_whether_all_payments_are_made() -> None:
    assert pays_all(LOAN, None)
    assert pays_all(LOAN, date(2027, 1, 8))
    assert not pays_all(LOAN, date(2027, 1, 7))
    assert pays_all(HIRE, None)
    assert not pays_all(HIRE, date(2027, 1, 7))


# --- A renewal in parts -----------------------------------------------------------------------------------

RENEWAL = Due("insurance", "Insurance", MARK, "insurance", date(2026, 12, 3))
PARTS = Repeating(date(2025, 12, 4), "month", 91_25, 12)


def again(terms: Repeating, last: date, on: date | None = RENEWAL.on) -> list[Bill]:
    return bills_as_paid(RENEWAL._replace(on=on), terms, last, YEAR)


def test_a_part_that_was_paid_by_hand_comes_again_at_what_was_paid() -> None:
    found = bills_as_paid(RENEWAL, PARTS, date(2026, 11, 4), YEAR, {date(2026, 2, 4): 93_40})
    assert [(one.on, one.pence) for one in found[1:4]] == [
        (date(2027, 1, 4), 91_25),
        (date(2027, 2, 4), 93_40),
        (date(2027, 3, 4), 91_25),
    ]


def test_a_deposit_and_parts_by_hand_come_to_what_was_paid() -> None:
    """Of a cover from 3 December 2025 on a deposit and one more payment, by hand, made up the price."""
    term = Period(date(2025, 12, 3), date(2026, 12, 2))
    price = Price(200_00, Source.LAST_PRICE, date(2025, 12, 3), term)
    once = Repeating(date(2026, 3, 4), "year", 620_00, 1)
    whole, parts = with_payments(RENEWAL, price, once, date(2026, 3, 4), YEAR, {date(2026, 3, 4): 641_00})
    assert (whole and whole.pence, parts) == (841_00, [])


def test_twelve_payments_go_on_as_twelve() -> None:
    found = again(PARTS, date(2026, 11, 4))
    assert [(one.on, one.pence) for one in found[:2]] == [(date(2026, 12, 4), 91_25), (date(2027, 1, 4), 91_25)]
    assert (len(found), {one.source for one in found}) == (12, {Source.MONTHLY})
    # Of what went on without end until it was stopped, the same comes; and the new sum, if one was told.
    endless = PARTS._replace(starts_on=date(2024, 6, 4), payments=None, next_amount=95_00)
    endless = endless._replace(next_amount_from=date(2026, 6, 4))
    assert [one._replace(pence=91_25) for one in again(endless, date(2026, 11, 4))] == found
    assert {one.pence for one in again(endless, date(2026, 11, 4))} == {95_00}


def test_ten_payments_come_again_a_year_after_each() -> None:
    ten = PARTS._replace(payments=10, starts_on=date(2026, 1, 4))
    assert [one.on.month for one in again(ten, date(2026, 10, 4))] == list(range(1, 11))


@pytest.mark.parametrize(
    ("every", "last", "source", "first", "count"),
    [
        ("week", date(2026, 12, 3), Source.WEEKLY, date(2026, 12, 10), 51),
        ("quarter", date(2026, 11, 27), Source.QUARTERLY, date(2027, 2, 27), 3),
    ],
)
def test_other_parts(every: str, last: date, source: Source, first: date, count: int) -> None:
    terms = PARTS._replace(every=every, starts_on=date(2025, 11, 27), payments=None)  # type: ignore[arg-type]
    found = again(terms, last)
    assert (found[0].on, len(found), {one.source for one in found}) == (first, count, {source})


def test_a_renewal_in_parts_that_is_late() -> None:
    terms = PARTS._replace(starts_on=date(2025, 11, 10))
    found = again(terms, date(2026, 10, 10), date(2026, 11, 9))
    assert [(one.on, one.was_due_on) for one in found[:2]] == [(TODAY, date(2026, 11, 10)), (date(2026, 12, 10), None)]


def test_what_did_not_pay_the_last_cover_says_nothing_of_the_next() -> None:
    last = date(2026, 11, 4)
    assert not again(PARTS, last, None)
    assert not again(PARTS, last, date(2027, 11, 26))
    assert not again(PARTS._replace(every="year"), last)
    # The next part would come four weeks before the renewal; two weeks before it may.
    assert not again(PARTS, last, date(2026, 12, 19))
    assert again(PARTS, last, date(2026, 12, 18))
    # One payment is no part, and nothing more of two comes within the year.
    one = PARTS._replace(starts_on=date(2026, 6, 1), payments=1)
    assert not again(one, date(2026, 6, 1), date(2027, 5, 1))
    assert again(one._replace(payments=2), date(2026, 7, 1), date(2027, 5, 1))
    two = PARTS._replace(starts_on=date(2026, 11, 26), payments=2)
    assert not again(two, date(2026, 12, 26), date(2027, 11, 20))


@pytest.mark.parametrize(
    ("last", "starts_on", "does"),
    [
        (date(2025, 12, 3), date(2025, 1, 1), False),
        (date(2025, 12, 4), date(2025, 1, 1), True),
        (date(2027, 1, 2), date(2026, 6, 3), True),
        (date(2027, 1, 3), date(2026, 6, 3), False),
        (date(2027, 1, 2), date(2026, 6, 4), False),
    ],
)
def test_whether_payments_were_for_the_last_cover(last: date, starts_on: date, does: bool) -> None:
    assert pays_last_cover(PARTS._replace(starts_on=starts_on), last, date(2026, 12, 3)) is does


TERM = Period(date(2025, 12, 4), date(2026, 12, 3))
DEPOSIT = Price(150_00, Source.LAST_PRICE, date(2025, 12, 4), TERM)


def together(price: Price | None, terms: Repeating, last: date) -> tuple[Price | None, list[Bill]]:
    return with_payments(RENEWAL, price, terms, last, YEAR)


def test_payments_of_the_term_come_again_beside_what_was_paid_at_once() -> None:
    ten = PARTS._replace(payments=10, starts_on=date(2026, 1, 4))
    assert together(DEPOSIT, ten, date(2026, 10, 4)) == (DEPOSIT, again(ten, date(2026, 10, 4)))
    assert together(None, ten, date(2026, 10, 4)) == (None, again(ten, date(2026, 10, 4)))


def test_payments_that_do_not_come_again_are_added_to_the_price() -> None:
    # They began less than six months before the renewal.
    late = PARTS._replace(payments=3, starts_on=date(2026, 7, 4))
    assert together(DEPOSIT, late, date(2026, 9, 4)) == (DEPOSIT._replace(pence=423_75, payments=4), [])
    assert together(None, late, date(2026, 9, 4))[0] == price_of_payments(late, date(2026, 9, 4))


def test_of_payments_that_went_through_the_last_renewal_those_of_the_term_are_added() -> None:
    endless = PARTS._replace(starts_on=date(2024, 1, 4), payments=None)
    far = RENEWAL._replace(on=date(2028, 1, 1))
    found, _ = with_payments(far, DEPOSIT, endless, date(2026, 3, 4), YEAR)
    assert found == DEPOSIT._replace(pence=150_00 + 4 * 91_25, payments=5)


@pytest.mark.parametrize(
    ("last", "pence"),
    [
        # The last part of a term may come up to a month after it.
        (date(2025, 11, 4), 150_00),
        (date(2026, 1, 4), 150_00),
        (date(2026, 2, 4), 150_00 + 2 * 91_25),
        (date(2027, 1, 3), 150_00 + 2 * 91_25),
        (date(2027, 1, 4), 2 * 91_25),
    ],
)
def test_payments_of_another_term_are_not_added(last: date, pence: int) -> None:
    two = PARTS._replace(payments=2, starts_on=add_months(last, -1))
    # A renewal so late has no parts again.
    found, parts = with_payments(RENEWAL._replace(on=date(2028, 1, 1)), DEPOSIT, two, last, YEAR)
    assert found is not None
    assert (found.pence, parts) == (pence, [])


def test_without_a_term_what_was_paid_later_counts() -> None:
    far = RENEWAL._replace(on=date(2028, 1, 1))
    untold = DEPOSIT._replace(lasts=None)
    paid = price_of_payments(TEN, date(2026, 10, 3))
    for told_on, price in ((date(2026, 10, 2), paid), (date(2026, 10, 3), None)):
        known = untold._replace(told_on=told_on)
        assert with_payments(far, known, TEN, date(2026, 10, 3), YEAR) == (price or known, [])


def test_what_paid_nothing_changes_nothing() -> None:
    assert together(DEPOSIT, TEN, date(2026, 1, 2)) == (DEPOSIT, [])
