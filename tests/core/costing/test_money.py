from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costing.core.money import divide_half_up, to_pence, to_places, to_pounds


@pytest.mark.parametrize(
    ("pounds", "pence"),
    [("2.665", 267), ("2.675", 268), ("2.664999", 266), ("-2.665", -267), ("0", 0), ("1234.56", 123456)],
)
def test_to_pence_rounds_a_half_away_from_zero(pounds: str, pence: int) -> None:
    assert to_pence(Decimal(pounds)) == pence


def test_to_pence_loses_nothing_of_a_very_long_sum() -> None:
    assert to_pence(Decimal("12345678901234567890123456789.005")) == 1234567890123456789012345678901


def test_to_pence_refuses_what_is_not_a_number() -> None:
    with pytest.raises(ValueError, match="NaN"):
        to_pence(Decimal("NaN"))


def test_to_pounds_always_shows_two_decimals() -> None:
    assert [str(to_pounds(pence)) for pence in (120000, 5, -250, 0)] == ["1200.00", "0.05", "-2.50", "0.00"]


@pytest.mark.parametrize(
    ("numerator", "denominator", "whole"),
    [
        (7, 2, 4),
        (-7, 2, -4),
        (7, -2, -4),
        (10, 4, 3),
        (10, 3, 3),
        (Fraction(5, 2), 1, 3),
        (1, Fraction(2, 3), 2),
        (0, 9, 0),
    ],
)
def test_divide_half_up(numerator: int | Fraction, denominator: int | Fraction, whole: int) -> None:
    assert divide_half_up(numerator, denominator) == whole


def test_divide_half_up_by_nothing_fails() -> None:
    with pytest.raises(ZeroDivisionError):
        divide_half_up(5, 0)


def test_to_places_rounds_once_and_half_up() -> None:
    # 2.4449... must not become 2.445 and then 2.45.
    assert str(to_places(Fraction(24449, 10000), 1)) == "2.4"
    assert str(to_places(Decimal("47.595"), 2)) == "47.60"
    assert str(to_places(Fraction(2, 3), 4)) == "0.6667"


@given(st.integers(-(10**12), 10**12))
def test_pence_survive_the_way_to_pounds_and_back(pence: int) -> None:
    assert to_pence(to_pounds(pence)) == pence


@given(st.fractions(), st.fractions().filter(bool))
def test_a_rounded_quotient_is_never_more_than_a_half_away(top: Fraction, bottom: Fraction) -> None:
    whole = divide_half_up(top, bottom)

    assert abs(whole - top / bottom) <= Fraction(1, 2)
    assert divide_half_up(-top, bottom) == -whole
