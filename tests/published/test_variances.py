"""Price, efficiency and volume variances, and the parts of a difference between two rates, against published examples.

The Webb Company in Horngren, Datar and Foster, Cost Accounting: A Managerial Emphasis, chapters 7 and 8 (FROM MEMORY:
nobody has held the figures against the book yet; they agree with each other). It budgets jackets at 2 square yards of
cloth at $30, and makes 10,000 from 22,200 square yards at $28: $44,400 favourable for the price, $66,000 unfavourable
for the efficiency, $21,600 unfavourable together. Its fixed overhead was to be $276,000 for 12,000 jackets, which is
$23 each, and came to $285,000 for the 10,000 that were made: $9,000 unfavourable spent, and $46,000 unfavourable for
the volume.

Das Gupta (1993), Standardization and Decomposition of Rates: A User's Manual, US Bureau of the Census, P23-186. Formula
of two factors read in a restatement; its first example, mean earnings of two groups as the earnings of those who earn
times the part who earn, FROM MEMORY, and so the formula of three factors.
"""

from dataclasses import replace
from fractions import Fraction
from itertools import permutations
from math import prod

from hypothesis import given
from hypothesis import strategies as st

from costing.statement.core.burned import Burned
from costing.statement.core.moved import Factor, Moved, Spell, moved
from costing.statement.core.shapley import shares_of_change

#: A jacket is a lesson hour, a square yard a litre, a dollar a penny, and each takes one mile.
JACKETS = Spell({}, miles=10_000, private_miles=0, minutes=10_000 * 60, days=30, burned={})


def cloth(yards: int, dollars: int) -> Spell:
    return replace(JACKETS, by_category={"fuel": dollars}, burned={"litre": Burned(dollars, yards * 1_000)})


def parts(found: Moved) -> dict[Factor, Fraction]:
    """What each factor did to all 10,000 jackets together."""
    return {one.factor: 10_000 * one.exact for one in found.effects}


BUDGETED, MADE = cloth(20_000, 600_000), cloth(22_200, 621_600)


def in_one_order(before: list[Fraction], after: list[Fraction], order: tuple[int, ...]) -> list[Fraction]:
    now, added = list(before), [Fraction(0)] * len(before)
    for index in order:
        was = prod(now)
        now[index] = after[index]
        added[index] = prod(now) - was
    return added


def test_price_and_efficiency_of_a_jacket_in_the_order_of_the_textbook_and_in_both() -> None:
    found = moved(BUDGETED, MADE)
    effects = {one.factor: one for one in found.effects}
    price, yards = effects[Factor.A_LITRE], effects[Factor.LITRES_A_MILE]
    assert (price.before, price.after) == (30, 28)
    assert (yards.before, yards.after) == (2, Fraction(222, 100))

    # The textbook: the efficiency first, at the price of the budget, then the price, of the yards that were used.
    before, after = [price.before, yards.before], [price.after, yards.after]
    assert [10_000 * one for one in in_one_order(before, after, (1, 0))] == [-44_400, 66_000]
    # The other way round: what both made together, -2 x 2,200, goes to the yards.
    assert [10_000 * one for one in in_one_order(before, after, (0, 1))] == [-40_000, 61_600]
    # Half of it to either.
    assert parts(found) == {Factor.A_LITRE: -42_200, Factor.LITRES_A_MILE: 63_800, Factor.MILES_AN_HOUR: 0}
    assert sum(parts(found).values()) == 21_600


def test_fixed_overhead_spent_and_shared_by_fewer_jackets() -> None:
    """The textbook's volume variance counts at the budget's rate of what was budgeted; its spending at what was spent.

    A jacket of the 10,000 made cost $28.50 of overhead, and $23 by the budget: $5.50 more, $55,000 in all, as the two
    variances of the book together. In its order, volume first at the budget's sum, they are $46,000 and $9,000.
    """
    budgeted = replace(JACKETS, by_category={"insurance": 276_000}, minutes=12_000 * 60)
    made = replace(JACKETS, by_category={"insurance": 285_000})
    effects = {one.factor: one for one in moved(budgeted, made).effects}
    price, volume = effects[Factor.A_DAY], effects[Factor.DAYS_AN_HOUR]
    before, after = [price.before, volume.before], [price.after, volume.after]
    assert [10_000 * one for one in in_one_order(before, after, (1, 0))] == [9_000, 46_000]
    found = parts(moved(budgeted, made))
    # Half of what both made together, 9,000 x (1/10,000 - 1/12,000) x 10,000 = 1,500, is the volume's.
    assert found == {Factor.A_DAY: 9_000 - 750, Factor.DAYS_AN_HOUR: 46_000 + 750, Factor.SHARE: 0}


def test_mean_earnings_of_two_groups() -> None:
    """10,930 earned by 0.717892 of all, and 16,591 by 0.825974: the effects of Das Gupta's two factors."""
    before = [Fraction(10_930), Fraction("0.717892")]
    after = [Fraction(16_591), Fraction("0.825974")]
    assert shares_of_change(before, after) == [
        (16_591 - 10_930) * (Fraction("0.717892") + Fraction("0.825974")) / 2,
        (Fraction("0.825974") - Fraction("0.717892")) * Fraction(10_930 + 16_591, 2),
    ]
    assert [round(part) for part in shares_of_change(before, after)] == [4_370, 1_487]


fractions = st.fractions(-50, 50, max_denominator=60)


@given(st.tuples(*[fractions] * 6))
def test_three_factors_by_the_formula_of_das_gupta(values: tuple[Fraction, ...]) -> None:
    a, b, c, A, B, C = values
    assert shares_of_change([a, b, c], [A, B, C]) == [
        (A - a) * ((b * c + B * C) / 3 + (b * C + B * c) / 6),
        (B - b) * ((a * c + A * C) / 3 + (a * C + A * c) / 6),
        (C - c) * ((a * b + A * B) / 3 + (a * B + A * b) / 6),
    ]


@given(st.lists(st.tuples(fractions, fractions), min_size=1, max_size=4))
def test_the_parts_are_the_mean_of_the_variances_of_all_orders(pairs: list[tuple[Fraction, Fraction]]) -> None:
    before, after = ([pair[side] for pair in pairs] for side in (0, 1))
    orders = [in_one_order(before, after, order) for order in permutations(range(len(pairs)))]
    assert shares_of_change(before, after) == [sum(parts) / len(orders) for parts in zip(*orders, strict=True)]
