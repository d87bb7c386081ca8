"""Break-even, contribution, target profit and margin of safety, as textbooks of management accounting print them.

The values stand here from memory of the books, and each was worked out again by hand; the pages were not looked up. A
textbook's unit is a lesson hour here, and its period a year of one teaching week. Sums are whole pence.
"""

from fractions import Fraction

import pytest

from costing.planning.core.charging import Lessons


def trade(price: int, variable: int, fixed: int, units: int = 1) -> Lessons:
    """A product by its price, variable and fixed cost in whole pounds or dollars, and the units sold."""
    return Lessons(Fraction(variable * 100), Fraction(fixed * 100), Fraction(1), Fraction(units), price * 100)


#: Name, product, contribution, break-even in units.
BREAK_EVEN = [
    # OpenStax, Principles of Accounting, Volume 2: Managerial Accounting, chapter 3 (Hicks Manufacturing).
    ("OpenStax, Hicks Manufacturing", trade(100, 20, 18_000), 80, 225),
    # Horngren, Datar and Rajan, Cost Accounting, chapter 3 (a seller of software or test preparation at $200).
    ("Horngren, chapter 3", trade(200, 120, 2_000), 80, 25),
    # Garrison, Noreen and Brewer, Managerial Accounting, cost-volume-profit (Acoustic Concepts).
    ("Garrison, Acoustic Concepts", trade(250, 150, 35_000), 100, 350),
    # BPP, text for ACCA Performance Management and CIMA, break-even point.
    ("BPP, break-even point", trade(8, 5, 21_000), 3, 7_000),
    # BPP, as above, margin of safety (Mal de Mer).
    ("BPP, Mal de Mer", trade(40, 30, 70_000), 10, 7_000),
]


@pytest.mark.parametrize(("name", "product", "contribution", "units"), BREAK_EVEN, ids=[row[0] for row in BREAK_EVEN])
def test_contribution_and_break_even(name: str, product: Lessons, contribution: int, units: int) -> None:
    assert product.contribution == contribution * 100
    assert product.hours_needed() == units
    assert product.whole_hours_needed() == units


#: Name, product, profit wanted before tax, units.
TARGETS = [
    # $16,000 wanted; and $24,000 after tax at 40 %, which is $40,000 before it.
    ("OpenStax, Hicks Manufacturing", trade(100, 20, 18_000), 16_000, 425),
    ("OpenStax, Hicks Manufacturing, after tax", trade(100, 20, 18_000), 40_000, 725),
    ("Horngren, chapter 3", trade(200, 120, 2_000), 1_200, 40),
    ("Garrison, Acoustic Concepts", trade(250, 150, 35_000), 40_000, 750),
    # BPP: materials 10, labour 8, variable overhead 6; sold at 30.
    ("BPP, Riding Breeches", trade(30, 24, 68_000), 16_000, 14_000),
]


@pytest.mark.parametrize(("name", "product", "profit", "units"), TARGETS, ids=[row[0] for row in TARGETS])
def test_units_for_a_target_profit(name: str, product: Lessons, profit: int, units: int) -> None:
    assert product.hours_needed(profit * 100) == units
    assert product.whole_hours_needed(profit * 100) == units


def test_the_price_for_a_target_profit() -> None:
    # BPP (Stripes): 14,000 units at 15 each, fixed costs 47,000, profit 23,000: a contribution of 5, so a price of 20.
    assert trade(0, 15, 47_000, 14_000).price_needed(23_000 * 100) == 2_000
    # Riding Breeches again, from the other side.
    assert trade(0, 24, 68_000, 14_000).price_needed(16_000 * 100) == 3_000


#: Name, product with its planned units, margin of safety as a part of them.
MARGINS = [
    # 400 speakers sold: $12,500 of $100,000.
    ("Garrison, Acoustic Concepts", trade(250, 150, 35_000, 400), Fraction(125, 1_000)),
    # 8,000 units budgeted, 1,000 to spare.
    ("BPP, Mal de Mer", trade(40, 30, 70_000, 8_000), Fraction(125, 1_000)),
    # 40 units, 15 to spare.
    ("Horngren, chapter 3", trade(200, 120, 2_000, 40), Fraction(375, 1_000)),
]


@pytest.mark.parametrize(("name", "product", "margin"), MARGINS, ids=[row[0] for row in MARGINS])
def test_margin_of_safety(name: str, product: Lessons, margin: Fraction) -> None:
    assert product.margin_of_safety == margin


def test_profit_is_contribution_less_fixed_cost() -> None:
    # Garrison: 400 speakers leave $5,000; OpenStax: each Blue Jay beyond 225 leaves $80.
    assert trade(250, 150, 35_000, 400).left == 5_000 * 100
    assert trade(100, 20, 18_000, 226).left == 80 * 100
