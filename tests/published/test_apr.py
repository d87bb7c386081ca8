"""The rate worked out from an agreement's payments, as the annual percentage rate of charge.

Source of the method: Directive 2008/48/EC, Annex I, part I (V); a month is a twelfth of a year
(remark (c), V). Tolerance 1e-6 on the percent figure, the figures being given to six decimals.
"""

from collections.abc import Sequence
from datetime import date

import numpy_financial  # type: ignore[import-untyped]
import pytest
import pyxirr

from costing.core.finance import annual_rate, interest_schedule, payment_flows, period_rate
from costing.core.records import Agreement

#: Published figures of loans by the month, as an agreement of level payments can carry them, in
#: pence: price, deposit (a fee taken off the loan counts as one), payment, payments, final, fees.
Terms = tuple[int, int, int, int, int, int]
MONTHLY: list[tuple[str, Terms, float]] = [
    # A7-E5 to E8 and E13, status V: European Commission, DG FISMA, "Examples for the APRC",
    # G. M. Soto, January 2015, examples 1, 6, 3, 8 and 42.
    ("A7-E5", (20_000_000, 400_000, 143_286, 240, 0, 0), 6.434412),
    ("A7-E6", (20_000_000, 400_000, 143_286, 240, 10_000, 0), 6.436359),
    ("A7-E7", (20_000_000, 400_000, 144_953, 240, 0, 0), 6.588554),
    ("A7-E8", (20_000_000, 400_000, 116_667, 240, 20_000_000, 0), 7.430479),
    ("A7-E13", (20_000_000, 400_000, 125_000, 12, 20_000_000, 0), 10.039962),
    # A7-E18, status V2: an open-source test that cites a trade association's example.
    ("A7-E18", (1_000_000, 0, 22_244, 60, 0, 0), 12.681515),
    # A7-E19, by months, status C; the inputs V2.
    ("A7-E19", (50_000, 0, 27_000, 2, 0, 0), 85.585078),
    # A7-E20 to E26, status C: constructed vehicle finance. The final payment of a PCP falls here
    # with the last of 48 payments: 9,500.00 is 339.53 and 9,160.47; 8,000.00 is 255 and 7,745.
    ("A7-E20", (1_500_000, 0, 37_668, 48, 0, 0), 9.899324),
    ("A7-E21", (1_500_000, 0, 37_668, 48, 1_000, 15_000), 10.499619),
    # E22 is worked out again (C), to sixty digits: 9.0703015...
    ("A7-E22", (1_200_000, 0, 38_000, 36, 0, 0), 9.070302),
    ("A7-E22 with an option fee", (1_200_000, 0, 38_000, 36, 1_000, 0), 9.117708),
    ("A7-E23", (1_980_000, 0, 33_953, 48, 916_047, 0), 9.899991),
    ("A7-E24", (1_800_000, 0, 25_500, 48, 774_500, 0), 3.852117),
    ("A7-E25", (1_200_000, 0, 50_000, 24, 0, 0), 0.0),
    ("A7-E26", (1_000_000, 0, 25_000, 48, 0, 0), 9.643456),
]
monthly = pytest.mark.parametrize(("name", "terms", "apr"), MONTHLY, ids=[name for name, _, _ in MONTHLY])


def agreement(terms: Terms) -> Agreement:
    price, deposit, payment, payments, final_payment, fees = terms
    return Agreement(date(2027, 1, 1), "pcp", price, deposit, payment, payments, "month", final_payment, fees)


def rate_of(credit: int, flows: Sequence[int]) -> float:
    rate = period_rate(credit, flows)
    assert rate is not None
    return rate


@monthly
def test_annual_rate_of_a_loan_by_the_month(name: str, terms: Terms, apr: float) -> None:
    held = agreement(terms)
    rate = rate_of((held.price or 0) - held.deposit, payment_flows(held))

    assert 100 * annual_rate(rate, "month") == pytest.approx(apr, abs=1e-6)


# A7-E9, status V, example 11 of the same study: the last payment is a smaller one.
def test_annual_rate_of_a_loan_with_a_smaller_last_payment() -> None:
    rate = rate_of(19_600_000, [150_000] * 220 + [40_770])

    assert 100 * annual_rate(rate, "month") == pytest.approx(6.452756, abs=1e-6)


# A7-E16, status V2: a mathematics teaching resource. A7-E17, status V2, worked out again (C).
# The payments are yearly, so that the rate a payment period is the annual rate.
@pytest.mark.parametrize(
    ("credit", "flows", "apr"), [(500_000, [200_000] * 3, 9.701026), (400_000, [150_000] * 3, 6.128561)]
)
def test_annual_rate_of_a_loan_by_the_year(credit: int, flows: list[int], apr: float) -> None:
    assert 100 * rate_of(credit, flows) == pytest.approx(apr, abs=1e-6)


# A7-E27, status C, and A7-8, a textbook rule: 1 % a month is 12.68 % a year.
def test_one_per_cent_a_month() -> None:
    assert 100 * annual_rate(0.01, "month") == pytest.approx(12.682503, abs=1e-6)


# A7-E21 and A7-E23, status C: total repayable 18,240.64 and 25,457.91, so that the interest of the
# schedule is that less the credit.
@pytest.mark.parametrize(
    ("name", "credit", "total"), [("A7-E21", 1_500_000, 1_824_064), ("A7-E23", 1_980_000, 2_545_791)]
)
def test_interest_is_the_total_repayable_less_the_credit(name: str, credit: int, total: int) -> None:
    held = agreement(next(terms for known, terms, _ in MONTHLY if known == name))

    assert sum(payment_flows(held)) == total
    assert sum(span.amount for span in interest_schedule(held)) == total - credit


# Against an independent solver: pyxirr's internal rate of return.
@monthly
def test_period_rate_is_the_internal_rate_of_return(name: str, terms: Terms, apr: float) -> None:
    held = agreement(terms)
    credit, flows = (held.price or 0) - held.deposit, payment_flows(held)

    assert rate_of(credit, flows) == pytest.approx(pyxirr.irr([-credit, *flows]), abs=1e-10)


# Against another: numpy-financial's rate of a level loan, and its internal rate of return on short
# series only (it looks for every root of the polynomial, which long ones make slow and rough).
@pytest.mark.parametrize(
    ("credit", "payment", "count"),
    [(1_500_000, 37_668, 48), (1_200_000, 38_000, 36), (1_000_000, 25_000, 48)],
)
def test_period_rate_is_the_rate_of_a_level_loan(credit: int, payment: int, count: int) -> None:
    expected = numpy_financial.rate(count, -payment, credit, 0)

    assert rate_of(credit, [payment] * count) == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize(
    "flows", [[110_000], [60_000, 55_000], [5_000] * 11 + [90_000], [40_000, 0, 40_000, 0, 40_000]]
)
def test_period_rate_is_the_internal_rate_of_a_short_series(flows: list[int]) -> None:
    expected = numpy_financial.irr([-100_000, *flows])

    assert rate_of(100_000, flows) == pytest.approx(expected, abs=1e-9)
