"""Wear of tyres against worked examples (T2-E1 to T2-E4, all C: arithmetic from the figures given).

The limits: 1.6 mm by the Road Vehicles (Construction and Use) Regulations 1986 reg. 27 as amended (T2-1, V2, read in
secondary texts), 3.0 mm by the advice of road-safety bodies (T2-6, V2): practice, not law.
"""

from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest

from fleet.core.odometer import Odometer, Reading
from fleet.core.tread import LEGAL_LEAST, PRACTICE_LEAST, Depth
from fleet.core.wear import Wear, WearUnknown, wear_of_tyre

FIRST, LAST = date(2025, 3, 1), date(2025, 12, 1)


def worn(before: str, after: str, miles: int) -> Wear:
    """A tyre read twice, ``miles`` apart, as it stands on the day of the second reading."""
    depths = [Depth("front_left", day, *[Decimal(mm)] * 3) for day, mm in ((FIRST, before), (LAST, after))]
    odometer = Odometer([Reading(FIRST, 40_000), Reading(LAST, 40_000 + miles)])
    return wear_of_tyre("front_left", depths, [], odometer, LAST)


def test_rate_and_miles_left_to_both_limits() -> None:
    wear = worn("8.0", "5.6", 9_600)  # T2-E1
    assert (wear.rate, wear.practice.miles, wear.legal.miles) == (Fraction(1, 4), 10_400, 16_000)


def test_tread_that_may_be_used_of_a_new_tyre() -> None:
    # T2-E2: 6.4 mm to the law, 5.0 mm to common practice, 78.125 % of it.
    new = Decimal("8.0")
    assert (new - LEGAL_LEAST, new - PRACTICE_LEAST) == (Decimal("6.4"), Decimal("5.0"))
    wear = worn("9.0", "8.0", 1_000)
    assert (wear.legal.miles, wear.practice.miles) == (6_400, 5_000)
    assert Fraction(wear.practice.miles, wear.legal.miles) == Fraction("0.78125")


@pytest.mark.parametrize(
    ("before", "after", "miles", "why"),
    [("5.0", "5.2", 9_600, WearUnknown.NOT_FALLING), ("8.0", "5.6", 0, WearUnknown.NO_MILES_BETWEEN)],  # T2-E3
)
def test_no_projection_where_tread_rises_or_no_miles_were_run(before: str, after: str, miles: int, why: str) -> None:
    wear = worn(before, after, miles)
    assert (wear.missing, wear.rate, wear.practice.miles, wear.legal.miles) == (why, None, None, None)


def test_the_lowest_governs_and_not_the_mean() -> None:
    depth = Depth("front_left", FIRST, Decimal("2.1"), Decimal("3.4"), Decimal("3.3"))
    assert depth.lowest == Decimal("2.1")  # T2-E4: the mean is 2.93
