"""The rate of an offer as its file states it: one decimal, half up, from what is paid.

Source of the method: Directive 2008/48/EC, Annex I, part I (V): a month is a twelfth of a year, a week a
fifty-second (remark (c)), and the next digit from 5 rounds up (remark (d)). The rates themselves, to six decimals,
are in test_apr.py; here is the way from the file to the figure that people read.

Of section 7 of the reference facts the file cannot carry A7-E1 to E4 and E16, E17 (payments by the year or at
eighteen months), E9 (a smaller last payment), E10, E14, E15 (payments in steps), E11 and E12 (one payment alone).
"""

from datetime import date
from decimal import Decimal

import numpy_financial  # type: ignore[import-untyped]
import pytest
import pyxirr
from hypothesis import given
from hypothesis import strategies as st

from costing.choosing.core.figures import Figures
from costing.choosing.core.figures import figures as figures_of
from costing.choosing.document.tables import case_made_of, read_tables
from costing.core.money import to_places

#: As the file has them: price, deposit (a fee paid at once counts as one), payment, payments, final payment, fees.
Terms = tuple[str, str, str, int, str, str]
PUBLISHED: list[tuple[str, Terms, str]] = [
    # Status V: European Commission, DG FISMA, "Examples for the APRC", G. M. Soto, January 2015,
    # examples 1, 6, 3, 8 and 42.
    ("A7-E5", ("200000", "4000", "1432.86", 240, "0", "0"), "6.4"),
    ("A7-E6", ("200000", "4000", "1432.86", 240, "100", "0"), "6.4"),
    ("A7-E7", ("200000", "4000", "1449.53", 240, "0", "0"), "6.6"),
    ("A7-E8", ("200000", "4000", "1166.67", 240, "200000", "0"), "7.4"),
    ("A7-E13", ("200000", "4000", "1250.00", 12, "200000", "0"), "10.0"),
    # Status V2: an open-source test that cites a trade association's example.
    ("A7-E18", ("10000", "0", "222.44", 60, "0", "0"), "12.7"),
    # By months; its inputs V2, the figure C.
    ("A7-E19", ("500", "0", "270.00", 2, "0", "0"), "85.6"),
    # Status C: constructed vehicle finance. 47 payments and the final one a month later are 48 here, the last of
    # them of the final payment less an instalment besides.
    ("A7-E20", ("18000", "3000", "376.68", 48, "0", "0"), "9.9"),
    ("A7-E21", ("18000", "3000", "376.68", 48, "10", "150"), "10.5"),
    ("A7-E22", ("12000", "0", "380.00", 36, "0", "0"), "9.1"),
    ("A7-E22 with an option fee", ("12000", "0", "380.00", 36, "10", "0"), "9.1"),
    ("A7-E23", ("19800", "0", "339.53", 48, "9160.47", "0"), "9.9"),
    ("A7-E24", ("18000", "0", "255.00", 48, "7745.00", "0"), "3.9"),
    ("A7-E25", ("12000", "0", "500.00", 24, "0", "0"), "0.0"),
    ("A7-E26", ("10000", "0", "250.00", 48, "0", "0"), "9.6"),
    ("A7-E27", ("1000", "0", "1010.00", 1, "0", "0"), "12.7"),
]


def figures(terms: Terms, frequency: str = "month") -> Figures:
    """The figures of an offer of these terms over a year."""
    price, deposit, payment, payments, final_payment, fees = terms
    use = {
        "starts_on": date(2027, 1, 1), "months": 12, "miles_per_year": 20_000, "private_miles_per_year": 0,
        "lesson_hours_per_week": 25, "weeks_taught_per_year": 44, "lesson_hour_price": 38,
    }  # fmt: skip
    offer = {
        "name": "An offer", "kind": "pcp", "price": Decimal(price), "deposit": Decimal(deposit),
        "payment": Decimal(payment), "payments": payments, "final_payment": Decimal(final_payment),
        "fees": Decimal(fees), "frequency": frequency,
    }  # fmt: skip
    case = case_made_of(read_tables({"use": use, "offer": [offer]}), "GB")
    return figures_of(case, case.offers[0])


def flows(terms: Terms) -> list[float]:
    """What changes hands: the credit, then each payment."""
    price, deposit, payment, payments, final_payment, fees = terms
    paid = [float(payment)] * payments
    paid[0] += float(fees)
    paid[-1] += float(final_payment)
    return [float(deposit) - float(price), *paid]


def percent(rate: float, periods: int = 12) -> Decimal:
    return to_places(Decimal(100 * ((1 + rate) ** periods - 1)), 1)


published = pytest.mark.parametrize(("name", "terms", "apr"), PUBLISHED, ids=[name for name, _, _ in PUBLISHED])


@published
def test_the_rate_of_an_offer_is_the_published_one(name: str, terms: Terms, apr: str) -> None:
    assert figures(terms).apr == Decimal(apr)


# Against an independent solver.
@published
def test_it_is_the_rate_of_an_independent_solver(name: str, terms: Terms, apr: str) -> None:
    assert figures(terms).apr == percent(pyxirr.irr(flows(terms)))


# Against another, which takes one final payment but no fee.
@pytest.mark.parametrize("terms", [terms for _, terms, _ in PUBLISHED if terms[5] == "0" and terms[3] > 1])
def test_it_is_the_rate_of_an_annuity(terms: Terms) -> None:
    price, deposit, payment, payments, final_payment, _ = terms
    rate = numpy_financial.rate(payments, -float(payment), float(price) - float(deposit), -float(final_payment))

    assert figures(terms).apr == abs(percent(rate))


# No weekly example is published: 52 of them make a year (remark (c)), and the solver is the check.
@given(st.integers(5_000, 30_000), st.integers(20, 260), st.decimals("1.01", "1.8", places=2))
def test_weekly_payments_count_52_to_the_year(price: int, payments: int, times: Decimal) -> None:
    payment = (price * times / payments).quantize(Decimal("0.01"))
    terms: Terms = (str(price), "0", str(payment), payments, "0", "0")
    rate = 100 * ((1 + pyxirr.irr(flows(terms))) ** 52 - 1)

    assert float(figures(terms, "week").apr or 0) == pytest.approx(rate, abs=0.05 + 1e-6)
