"""Any two of paid, quantity and price give the third."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costing.core.third import agree, amount_of, price_of, quantity_of

pounds = st.decimals("0.01", "300", places=2)
litres = st.decimals("0.001", "150", places=3)
pence = st.decimals("0.1", "200", places=1)


def test_the_fill_of_the_drawing() -> None:
    assert amount_of(Decimal("36.28"), Decimal("142.9")) == Decimal("51.84")
    assert quantity_of(Decimal("51.84"), Decimal("142.9")) == Decimal("36.277")
    assert price_of(Decimal("51.84"), Decimal("36.28")) == Decimal("142.9")
    assert agree(Decimal("51.84"), Decimal("36.28"), Decimal("142.9"))


@pytest.mark.parametrize(
    ("found", "exact"),
    [
        (amount_of(Decimal("1"), Decimal("100.5")), "1.01"),
        (quantity_of(Decimal("0.01"), Decimal("160")), "0.006"),
        (price_of(Decimal("0.01"), Decimal("20")), "0.1"),
    ],
)
def test_halves_go_up(found: Decimal, exact: str) -> None:
    assert found == Decimal(exact)


@given(quantity=litres, price=pence)
def test_the_sum_is_within_half_a_penny(quantity: Decimal, price: Decimal) -> None:
    paid = amount_of(quantity, price)
    assert abs(Fraction(paid) - Fraction(quantity) * Fraction(price) / 100) <= Fraction(1, 200)
    assert agree(paid, quantity, price)


@given(amount=pounds, price=pence)
def test_the_quantity_is_within_half_a_thousandth(amount: Decimal, price: Decimal) -> None:
    bought = quantity_of(amount, price)
    assert abs(Fraction(bought) - Fraction(amount) * 100 / Fraction(price)) <= Fraction(1, 2000)


@given(amount=pounds, quantity=litres)
def test_the_price_is_within_half_a_tenth(amount: Decimal, quantity: Decimal) -> None:
    price = price_of(amount, quantity)
    assert abs(Fraction(price) - Fraction(amount) * 100 / Fraction(quantity)) <= Fraction(1, 20)


def test_what_is_off_by_more_than_a_pump_hides_does_not_agree() -> None:
    quantity, price = Decimal("36.28"), Decimal("142.9")
    assert agree(Decimal("51.86"), quantity, price)
    assert not agree(Decimal("51.87"), quantity, price)
    assert not agree(Decimal("51.82"), quantity, price)
    assert not agree(Decimal("5.18"), quantity, price)
