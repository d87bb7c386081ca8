"""Fallen economy: what rings, and since when. How often it is wrong and right: `tests/published/test_odd.py`."""

from collections.abc import Sequence
from datetime import date, timedelta
from fractions import Fraction

import pytest

from costing.core.economy import Economy, Stretch
from costing.core.records import Unit
from costing.statement.core.odd.economy import APART, ENOUGH, FEWEST_BEFORE, LAST, fall_of, thousandths_lower
from costing.statement.core.odd.rank_sum import chance_of

START = date(2027, 3, 1)


def tanks(miles: Sequence[int], start: date = START) -> list[Stretch]:
    """A stretch every five days on 40 litres each."""
    days = [start + timedelta(days=5 * number) for number in range(len(miles) + 1)]
    return [Stretch(days[at], days[at + 1], far, 40_000) for at, far in enumerate(miles)]


#: Summer and winter tell less apart here than what is asked of a fall.
USUAL = [400, 404, 396, 402, 398] * 4
LOW = [350, 352, 348, 351, 349]


def test_a_fall_rings_with_its_fifth_tank_and_says_what_it_rests_on() -> None:
    assert fall_of(tanks(USUAL), "litre") is None
    assert fall_of(tanks([*USUAL, *LOW[:4]]), "litre") is None
    found = tanks([*USUAL, *LOW])
    fall = fall_of(found, "litre")
    assert fall is not None
    assert (fall.unit, fall.began, fall.last, fall.tanks) == ("litre", found[-LAST], found[-1], LAST)
    # The five just before count on neither side.
    assert fall.tanks_before == len(USUAL) - APART
    assert fall.since == Economy("litre", sum(LOW), 5 * 40_000)
    assert fall.before == Economy("litre", sum(USUAL[:15]), 15 * 40_000)
    assert fall.thousandths == 125


def test_it_goes_on_as_the_same_until_it_is_over() -> None:
    first = fall_of(tanks([*USUAL, *LOW]), "litre")
    later = fall_of(tanks([*USUAL, *LOW, *LOW, *LOW, 352]), "litre")
    assert first is not None
    assert later is not None
    assert (later.began, later.tanks, later.before) == (first.began, 16, first.before)
    assert fall_of(tanks([*USUAL, *LOW, *USUAL[:2]]), "litre") is not None
    assert fall_of(tanks([*USUAL, *LOW, *USUAL[:5]]), "litre") is None


def test_a_second_fall_is_another_and_the_first_is_not_taken_for_usual() -> None:
    found = tanks([*USUAL, *LOW, *USUAL, *LOW])
    fall = fall_of(found, "litre")
    assert fall is not None
    assert fall.began == found[-LAST]
    assert fall.before.miles / fall.tanks_before == pytest.approx(400, abs=1)


def test_with_one_tank_fewer_nothing_is_told() -> None:
    enough = [400, 404, 396, 402, 398, 401, 399, 403, 397, 400, 402, 398, *USUAL[:APART], *LOW]
    assert len(enough) == ENOUGH == FEWEST_BEFORE + APART + LAST
    assert fall_of(tanks(enough), "litre") is not None
    assert fall_of(tanks(enough[1:]), "litre") is None


def test_what_is_small_or_may_be_chance_does_not_ring() -> None:
    assert fall_of(tanks([*USUAL, 381, 382, 383, 381, 382]), "litre") is None, "less than a twentieth"
    assert fall_of(tanks([*USUAL, 350, 352, 500, 351, 349]), "litre") is None, "one of the five is not low"
    wild = [400, 300, 480, 350, 450] * 4
    assert fall_of(tanks([*wild, *LOW]), "litre") is None, "its own scatter is wider"


def test_one_odd_tank_before_does_not_hide_a_fall() -> None:
    assert fall_of(tanks([*USUAL[:9], 250, *USUAL, *LOW]), "litre") is not None


def test_tanks_without_miles_or_fuel_tell_nothing() -> None:
    found = tanks([*USUAL, *LOW])
    blank = [Stretch(found[3].ends_on, found[3].ends_on, 0, 900), Stretch(found[3].ends_on, found[3].ends_on, 9, 0)]
    assert fall_of([*found[:4], *blank, *found[4:]], "litre") == fall_of(found, "litre")


@pytest.mark.parametrize(("unit", "low"), [("litre", 375), ("kwh", 330)])
def test_what_the_winter_may_make_does_not_ring_and_the_same_in_spring_does(unit: Unit, low: int) -> None:
    """December after a summer: a twelfth less on fuel, a fifth on charge. The same is none of the season's in May."""
    fallen = [low, low + 2, low - 1, low + 1, low]
    assert fall_of(tanks([*USUAL, *fallen], date(2027, 8, 25)), unit) is None
    assert fall_of(tanks([*USUAL, *fallen], date(2027, 1, 20)), unit) is not None


def test_what_spring_hides_is_not_told_by_the_season_alone() -> None:
    """As warm as it got, the economy should have risen: it may be a car that follows no season."""
    assert fall_of(tanks([*USUAL, 395, 396, 394, 397, 395], date(2027, 1, 20)), "kwh") is None


def test_the_chance_is_the_one_that_is_named() -> None:
    assert chance_of(LAST * FEWEST_BEFORE, LAST, FEWEST_BEFORE) <= Fraction(1, 5000)
    assert thousandths_lower([90, 91], [100, 101, 99]) == 95
