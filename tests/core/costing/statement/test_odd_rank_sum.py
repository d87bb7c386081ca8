"""The rank-sum test by every order written out."""

from fractions import Fraction
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costing.statement.core.odd.rank_sum import chance_of, pairs_below

VALUES = st.lists(st.integers(0, 12), min_size=1, max_size=5)


def by_every_order(below: int, few: int, many: int) -> Fraction:
    """The share of all ways to place ``few`` among as many places, in which so many pairs or more are below."""
    ways = list(combinations(range(few + many), few))
    counts = [sum(place < other for place in way for other in range(few + many) if other not in way) for way in ways]
    return Fraction(sum(count >= below for count in counts), len(ways))


@pytest.mark.parametrize(
    ("few", "many", "expected"),
    [
        ([1, 2], [3, 4, 5], Fraction(1, 10)),
        ([1, 4], [3, 2, 5], Fraction(4, 10)),
        ([8, 9], [3, 4, 5], Fraction(1)),
        # A tie counts as if it were not lower.
        ([3, 3], [3, 4, 5], Fraction(4, 10)),
    ],
)
def test_worked_by_hand(few: list[int], many: list[int], expected: Fraction) -> None:
    assert chance_of(pairs_below(few, many), len(few), len(many)) == expected


@given(st.integers(1, 4), st.integers(1, 5), st.data())
def test_it_is_the_share_of_all_orders(few: int, many: int, data: st.DataObject) -> None:
    below = data.draw(st.integers(0, few * many))
    assert chance_of(below, few, many) == by_every_order(below, few, many)


@given(VALUES, VALUES)
def test_pairs_are_counted_once_each(few: list[int], many: list[int]) -> None:
    ties = sum(one == other for one in few for other in many)
    assert pairs_below(few, many) + pairs_below(many, few) + ties == len(few) * len(many)
