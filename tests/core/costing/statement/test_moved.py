"""Why a lesson hour moved: worked by hand, by trying every order, and over ten thousand random pairs."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from fractions import Fraction
from itertools import permutations
from math import prod
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costing.core.catalogue.costs import COST_CATEGORIES, CostGroup, Driver
from costing.core.records import Period
from costing.core.running_cost import RunningCost
from costing.statement.core.burned import Burned
from costing.statement.core.moved import IN_COMMON, Effect, Factor, Kind, Moved, Spell, moved, spell_of
from costing.statement.core.shapley import shares_of_change
from tests.core.costing.statement.spells import random_pair

#: 1,000 miles, none of them private, and 50 lesson hours in 30 days.
PLAIN = Spell({}, miles=1_000, private_miles=0, minutes=3_000, days=30, burned={})


def exact(found: Moved) -> dict[tuple[str, Factor], Fraction]:
    return {(one.category, one.factor): one.exact for one in found.effects}


def shown(found: Moved) -> dict[tuple[str, Factor], int]:
    return {(one.category, one.factor): one.pence for one in found.effects}


# Worked by hand -----------------------------------------------------------------------------------


def test_more_hours_share_what_runs_anyway() -> None:
    """£3 a day in both, all for lessons. 30 days for 60 hours, then 31 for 90: half a day an hour, then 31/90."""
    before = replace(PLAIN, by_category={"insurance": 9_000}, minutes=60 * 60)
    after = replace(PLAIN, by_category={"insurance": 9_300}, minutes=90 * 60, days=31)
    found = moved(before, after)
    assert (before.pence, after.pence, found.change) == (150, 103, -47)
    # 300 x (31/90 - 1/2) = -46 2/3
    assert exact(found) == {
        ("insurance", Factor.DAYS_AN_HOUR): Fraction(-140, 3),
        ("insurance", Factor.A_DAY): 0,
        ("insurance", Factor.SHARE): 0,
    }
    assert [one.pence for one in found.effects] == [-47, 0, 0]


def test_three_things_change_at_once_and_each_has_its_part() -> None:
    """£2 a day becomes £3, a half for lessons becomes three quarters, half a day an hour becomes a third.

    50p an hour becomes 75p. By the formula for three factors:
    price  100 x ((1/2 x 1/2 + 3/4 x 1/3) / 3 + (1/2 x 1/3 + 3/4 x 1/2) / 6) = 925/36 = 25.69
    use    1/4 x ((200 x 1/2 + 300 x 1/3) / 3 + (200 x 1/3 + 300 x 1/2) / 6) = 925/36 = 25.69
    volume -1/6 x ((200 x 1/2 + 300 x 3/4) / 3 + (200 x 3/4 + 300 x 1/2) / 6) = -475/18 = -26.39
    """
    before = replace(PLAIN, by_category={"insurance": 6_000}, private_miles=500, minutes=60 * 60)
    after = replace(PLAIN, by_category={"insurance": 9_000}, private_miles=250, minutes=90 * 60)
    found = moved(before, after)
    assert exact(found) == {
        ("insurance", Factor.A_DAY): Fraction(925, 36),
        ("insurance", Factor.SHARE): Fraction(925, 36),
        ("insurance", Factor.DAYS_AN_HOUR): Fraction(-475, 18),
    }
    # From 50 by way of 23.61 and 49.31 to 75.
    assert [(one.factor.kind, one.pence) for one in found.effects] == [
        (Kind.VOLUME, 24 - 50),
        (Kind.USE, 49 - 24),
        (Kind.PRICE, 75 - 49),
    ]


def test_fuel_by_the_price_of_a_litre_by_how_much_a_mile_takes_and_by_the_miles() -> None:
    """130p a litre becomes 150p, a tenth of a litre a mile becomes 0.12, 20 miles an hour become 25.

    260p an hour become 450p.
    price  20 x ((2 + 3) / 3 + (2.5 + 2.4) / 6) = 49 2/3
    litres 0.02 x ((2600 + 3750) / 3 + (3250 + 3000) / 6) = 63 1/6
    miles  5 x ((13 + 18) / 3 + (15.6 + 15) / 6) = 77 1/6
    """
    before = replace(PLAIN, by_category={"fuel": 13_000}, burned={"litre": Burned(13_000, 100_000)})
    after = replace(
        PLAIN, by_category={"fuel": 18_000}, minutes=40 * 60, days=31, burned={"litre": Burned(18_000, 120_000)}
    )
    found = moved(before, after)
    assert exact(found) == {
        ("fuel", Factor.A_LITRE): Fraction(149, 3),
        ("fuel", Factor.LITRES_A_MILE): Fraction(379, 6),
        ("fuel", Factor.MILES_AN_HOUR): Fraction(463, 6),
    }
    assert [(one.before, one.after) for one in found.effects] == [
        (130, 150),
        (Fraction(1, 10), Fraction(3, 25)),
        (20, 25),
    ]
    assert [one.pence for one in found.effects] == [50, 63, 77]
    assert found.change == 190


def test_a_set_of_tyres_and_then_a_refund_at_as_many_miles_an_hour() -> None:
    """4p a mile becomes -0.4p a mile, at 20 miles an hour in both: -4.4 x 20 = -88."""
    before = replace(PLAIN, by_category={"tyres": 4_000})
    after = replace(PLAIN, by_category={"tyres": -500}, miles=1_250, minutes=3_750)
    found = moved(before, after)
    assert exact(found) == {("tyres", Factor.A_MILE): -88, ("tyres", Factor.MILES_AN_HOUR): 0}
    assert (before.pence, after.pence) == (80, -8)


def test_what_one_period_lacks_what_a_lesson_needs_and_a_second_unit() -> None:
    """Petrol alone, then petrol at the same price and charge at 30p; and cleaning at 12p an hour taught, in both.

    Petrol: 0.1 litre a mile becomes 0.06, at 150p and 20 miles an hour: -0.04 x 3000 = -120.
    Charge: from none to 0.2 kWh a mile at its own 30p: 0.2 x 600 = 120.
    Cleaning: all for lessons, then four fifths: that is the share's. The miles an hour fall from 20 to 16.
    Parking, only then: 50p an hour taught from nothing, at a mean share of nine tenths: 45; the share's change 0.25 x
    -0.2 x 100 = -5.
    """
    before = replace(PLAIN, by_category={"fuel": 15_000, "cleaning": 600}, burned={"litre": Burned(15_000, 100_000)})
    after = replace(
        PLAIN,
        by_category={"fuel": 9_000 + 6_000, "cleaning": 600, "parking_tolls": 2_500},
        burned={"litre": Burned(9_000, 60_000), "kwh": Burned(6_000, 200_000)},
    )
    found = exact(moved(before, after))
    assert found["fuel", Factor.A_LITRE] == found["fuel", Factor.A_KWH] == found["fuel", Factor.MILES_AN_HOUR] == 0
    assert found["fuel", Factor.LITRES_A_MILE] == -120
    assert found["fuel", Factor.KWH_A_MILE] == 120
    assert found["parking_tolls", Factor.AN_HOUR] == 50

    found = exact(moved(before, replace(after, private_miles=200)))
    assert found["cleaning", Factor.AN_HOUR] == 0
    assert found["cleaning", Factor.SHARE] == Fraction(-12, 5)
    assert found["parking_tolls", Factor.AN_HOUR] == 45
    assert found["parking_tolls", Factor.SHARE] == -5


def test_the_first_day_of_an_agreement_has_no_loss_and_makes_no_day_dearer() -> None:
    """£6 a day on 29 of 30 days, then on 30: 50 hours in both, so 1/30 of 30 days at £6 is £6 more, 12p an hour."""
    before = replace(PLAIN, by_category={"depreciation": 29 * 600}, losing_days=29)
    after = replace(PLAIN, by_category={"depreciation": 30 * 600}, losing_days=30)
    assert exact(moved(before, after)) == {
        ("depreciation", Factor.A_DAY): 0,
        ("depreciation", Factor.LOSING): 12,
        ("depreciation", Factor.SHARE): 0,
        ("depreciation", Factor.DAYS_AN_HOUR): 0,
    }


def test_without_a_loss_then_the_days_are_those_of_the_other_time() -> None:
    """Hired before: all is the price's, from nothing to £6 a day on 15 of 30 days, £90 in 50 hours."""
    before, after = PLAIN, replace(PLAIN, by_category={"depreciation": 9_000}, losing_days=15)
    assert exact(moved(before, after)) == {
        ("depreciation", Factor.A_DAY): 180,
        ("depreciation", Factor.LOSING): 0,
        ("depreciation", Factor.SHARE): 0,
        ("depreciation", Factor.DAYS_AN_HOUR): 0,
    }


# Rules --------------------------------------------------------------------------------------------


def test_the_way_goes_through_what_is_in_common_and_then_category_by_category() -> None:
    before = replace(PLAIN, by_category={"mot": 5_000, "depreciation": 9_000, "tyres": 100})
    found = moved(before, replace(before, minutes=2_000))
    assert [(one.category, one.factor) for one in found.effects] == [
        ("depreciation", Factor.DAYS_AN_HOUR),
        ("mot", Factor.DAYS_AN_HOUR),
        ("depreciation", Factor.SHARE),
        ("mot", Factor.SHARE),
        ("depreciation", Factor.A_DAY),
        ("tyres", Factor.A_MILE),
        ("tyres", Factor.MILES_AN_HOUR),
        ("mot", Factor.A_DAY),
    ]
    assert found.effects[0].group is CostGroup.VALUE


@pytest.mark.parametrize(
    "burned",
    [{}, {"litre": Burned(12_999, 100_000)}, {"litre": Burned(13_000, 0)}],
    ids=["nothing told", "not all of the money", "no quantity"],
)
def test_fuel_without_a_quantity_goes_by_pence_a_mile(burned: dict) -> None:
    before = replace(PLAIN, by_category={"fuel": 13_000}, burned=burned)
    after = replace(PLAIN, by_category={"fuel": 18_000}, burned={"litre": Burned(18_000, 120_000)})
    assert [one.factor for one in moved(before, after).effects] == [Factor.A_MILE, Factor.MILES_AN_HOUR]
    assert [one.factor for one in moved(after, before).effects] == [Factor.A_MILE, Factor.MILES_AN_HOUR]


def test_charge_that_cost_nothing_has_a_price_of_nothing() -> None:
    free = replace(PLAIN, burned={"kwh": Burned(0, 300_000)})
    paid = replace(PLAIN, by_category={"fuel": 6_000}, burned={"kwh": Burned(6_000, 300_000)})
    assert exact(moved(free, paid)) == {
        ("fuel", Factor.A_KWH): 120,
        ("fuel", Factor.KWH_A_MILE): 0,
        ("fuel", Factor.MILES_AN_HOUR): 0,
    }


@pytest.mark.parametrize("lacking", [{"minutes": 0}, {"miles": 0}, {"days": 0}, {"private_miles": 1_001}])
def test_a_period_without_use_cannot_be_split(lacking: dict[str, int]) -> None:
    with pytest.raises(ValueError, match="no cost of a lesson hour"):
        replace(PLAIN, **lacking)


def test_a_spell_is_that_of_a_running_cost_and_there_is_none_without_its_lesson_hour() -> None:
    cost = RunningCost(
        period=Period(date(2027, 3, 1), date(2027, 3, 31)),
        miles=1_000,
        private_miles=200,
        lessons=2,
        minutes=180,
        by_category={"fuel": 3_333, "insurance": 4_165},
        money_out=0,
        litre_economy=None,
        kwh_economy=None,
        estimated=(),
        missing=(),
        is_known=True,
        is_borrowed=False,
        known_until=None,
    )
    spell = spell_of(cost, 31, {"litre": Burned(3_333, 25_000)}, 30)
    assert spell == Spell(cost.by_category, 1_000, 200, 180, 31, {"litre": Burned(3_333, 25_000)}, 30)
    assert spell.pence == cost.cost_per_lesson_hour == 1_999  # 7,498 x 4/5 / 3 = 1,999.47
    assert spell_of(replace(cost, is_known=False), 31, {}) is None
    assert spell_of(replace(cost, minutes=0), 31, {}) is None
    assert spell_of(replace(cost, private_miles=None), 31, {}) is None


def test_private_miles_alone_are_known_and_cost_the_lessons_nothing() -> None:
    private = replace(PLAIN, by_category={"insurance": 9_000}, private_miles=1_000)
    assert private.pence == 0
    assert moved(private, replace(private, private_miles=0)).change == 180


# Every pair ---------------------------------------------------------------------------------------


def by_every_order(before: Sequence[Fraction], after: Sequence[Fraction]) -> list[Fraction]:
    """The Shapley value by its definition: the mean over all orders of what each factor adds when its turn comes."""
    added = [Fraction(0)] * len(before)
    orders = list(permutations(range(len(before))))
    for order in orders:
        now = list(before)
        for index in order:
            was = prod(now)
            now[index] = after[index]
            added[index] += prod(now) - was
    return [one / len(orders) for one in added]


fractions = st.fractions(-100, 100, max_denominator=97)


@given(st.lists(st.tuples(fractions, fractions), min_size=1, max_size=5))
def test_each_part_is_the_mean_over_all_orders(pairs: list[tuple[Fraction, Fraction]]) -> None:
    before, after = ([pair[side] for pair in pairs] for side in (0, 1))
    found = shares_of_change(before, after)
    assert found == by_every_order(before, after)
    assert sum(found) == prod(after) - prod(before)
    assert shares_of_change(after, before) == [-one for one in found]


def test_ten_thousand_pairs_add_up_to_the_penny() -> None:
    chance = Random(13)  # noqa: S311 - the same pairs every time
    seen: Counter[str] = Counter()
    for _ in range(10_000):
        before, after = random_pair(chance)
        found = moved(before, after)
        assert sum(one.pence for one in found.effects) == after.pence - before.pence == found.change
        assert sum(one.exact for one in found.effects) == after.exact - before.exact
        for one in found.effects:
            assert abs(one.pence - one.exact) <= 1
            assert one.pence * one.exact >= 0, "never the wrong sign"
            assert one.exact or not one.pence
            if one.before == one.after:
                assert not one.exact
            seen[one.factor] += bool(one.exact)
        for factor in IN_COMMON:
            told = [one for one in found.effects if one.factor is factor]
            assert abs(sum(one.pence for one in told) - sum(one.exact for one in told)) <= 1
    assert min(seen[factor] for factor in Factor) > 500, "every factor was tried"


def test_the_parts_are_those_of_every_order_of_their_own_driver_and_swapped_they_change_their_sign() -> None:
    chance = Random(31)  # noqa: S311 - the same pairs every time
    for _ in range(500):
        before, after = random_pair(chance)
        found = moved(before, after)
        assert exact(moved(after, before)) == {key: -part for key, part in exact(found).items()}
        for effects in _products(found):
            assert [one.exact for one in effects] == by_every_order(
                [one.before for one in effects], [one.after for one in effects]
            )
            volume = any(one.factor.kind is Kind.VOLUME for one in effects)
            assert volume is (COST_CATEGORIES[effects[0].category].driver is Driver.DAYS)


def _products(found: Moved) -> list[list[Effect]]:
    """The effects of each product: of each category, and of fuel those of each unit."""
    products: dict[tuple[str, bool], list[Effect]] = {}
    for one in found.effects:
        # A second unit comes once the first has had its miles.
        of_first = products.get((one.category, False), [])
        is_second = any(other.factor is Factor.MILES_AN_HOUR for other in of_first)
        products.setdefault((one.category, is_second), []).append(one)
    return list(products.values())
