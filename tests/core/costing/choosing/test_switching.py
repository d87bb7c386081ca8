"""Where the cheaper of two offers changes: worked examples."""

from fractions import Fraction

import pytest

from costing.choosing.core.case import Case, WeeksOff
from costing.choosing.core.cash_flow import items_of, total_of
from costing.choosing.core.figures import compare
from costing.choosing.core.inputs import INPUTS, base_of, bears_on, varied
from costing.choosing.core.switching import Switch, switching_values
from costing.choosing.core.ways_out import CannotBeHandedBack
from tests.core.costing.choosing.cases import (
    HIRE,
    OWNED,
    PCP,
    PURCHASE,
    RENTAL,
    Table,
    case,
)


def switch(of: Case, name: str, offer: str = "") -> Switch:
    """The one switching value of two offers for an input."""
    [found] = [one for one in switching_values(of) if (one.input, one.offer) == (name, offer)]
    return found


# Worked examples: the gap of the totals over what one more of the input adds to it.


def test_the_repairs_at_which_a_rental_that_includes_them_wins() -> None:
    of = case(OWNED, RENTAL)
    owned, rental = (one.total for one in compare(of).figures)

    found = switch(of, "repairs_per_year")
    assert (found.cheaper, found.than) == (OWNED["name"], RENTAL["name"])
    assert (found.base, found.low, found.high) == (40_000, 0, 120_000)
    assert found.value is None  # the gap is wider than three times the repairs
    wide = case(OWNED, RENTAL, uncertain=[{"input": "repairs_per_year", "low": 0, "likely": 400, "high": 9000}])
    value = switch(wide, "repairs_per_year").value
    assert value is not None
    assert abs(value - (40_000 + Fraction(rental - owned, 2))) <= 1


@pytest.mark.parametrize(
    "far", [{"low": 6_500, "likely": 7_000, "high": 9_000}, {"low": 0, "likely": 0, "high": 9_000}]
)
def test_a_range_that_lies_beyond_the_change_is_looked_at_from_the_planned_figure_on(far: Table) -> None:
    wide = case(OWNED, RENTAL, uncertain=[{"input": "repairs_per_year", "low": 0, "likely": 400, "high": 9_000}])
    beyond = case(OWNED, RENTAL, uncertain=[{"input": "repairs_per_year"} | far])

    assert switch(beyond, "repairs_per_year").value == switch(wide, "repairs_per_year").value is not None


def test_the_weekly_rent_at_which_it_wins_lies_between_two_pence() -> None:
    of = case(OWNED, RENTAL)
    owned, rental = (one.total for one in compare(of).figures)

    value = switch(of, "payment", RENTAL["name"]).value
    assert value is not None
    assert abs(value - (12_900 - Fraction(rental - owned, 104))) <= Fraction(2, 104)


def test_the_resale_value_at_which_the_other_wins() -> None:
    of = case(OWNED, RENTAL, PURCHASE)
    [found] = [
        one
        for one in switching_values(of)
        if {one.cheaper, one.than} == {OWNED["name"], PURCHASE["name"]} and one.offer == PURCHASE["name"]
    ]
    owned, _, purchase = (one.total for one in compare(of).figures)

    assert found.input == "value_at_horizon"
    assert found.value is not None
    assert abs(found.value - (560_000 + purchase - owned)) <= 1


def test_miles_switch_only_above_the_allowance() -> None:
    # Below it both cost the same a mile; above it, one a pound more for each ten miles.
    lent = HIRE | {"name": "With an allowance", "includes": [], "deposit": 0, "excess_pence_per_mile": 10}
    free = HIRE | {"name": "Without one", "includes": [], "deposit": 500, "mileage_allowance": 200_000}
    of = case(lent, free, running={"fuel_pence_per_mile": 10}, miles_per_year=15_000)

    found = switch(of, "miles_per_year")
    assert (found.cheaper, found.than) == ("With an allowance", "Without one")
    assert found.value is not None
    assert abs(found.value - 22_500) <= Fraction(1, 10)  # 5,000 miles in two years above 40,000, at 10p


@pytest.mark.parametrize(
    "kind",
    [
        # A hire that runs on after the two years: the miles of the two years are allowed, not of its three.
        {"kind": "contract_hire", "payment": 310, "payments": 36},
        {"kind": "pcp", "price": 9_000, "payment": 310, "payments": 24, "at_end": "hand_back"},
    ],
    ids=lambda kind: kind["kind"],
)
def test_miles_switch_between_two_allowances_though_both_ends_say_the_same(kind: Table) -> None:
    # 500 pounds apart; from 20,000 miles a year the one costs 10p more for each, from 25,000 the other 40p. So it is
    # dearer from 22,500 to 25,833 miles alone: 20 pence x 2,500 are the 500 pounds.
    one = kind | {"name": "Few miles", "deposit": 1_200, "mileage_allowance": 20_000, "excess_pence_per_mile": 10}
    other = kind | {"name": "More miles", "deposit": 1_700, "mileage_allowance": 25_000, "excess_pence_per_mile": 40}

    found = switch(case(one, other, running={}, miles_per_year=15_000), "miles_per_year")
    assert (found.cheaper, found.low, found.high) == ("Few miles", 150, 45_000)
    assert found.value == 22_500
    # From above it is the other end that is met first.
    from_above = switch(case(one, other, running={}, miles_per_year=30_000), "miles_per_year")
    assert from_above.cheaper == "Few miles"
    assert from_above.value == pytest.approx(Fraction(77_500, 3), abs=0.05)


def test_months_switch_at_the_first_month_away_from_the_plan() -> None:
    rental = RENTAL | {"early_exit": {"kind": "weeks", "value": 0}, "damage": 0}
    bought = OWNED | {"price": 6_000, "value_at_horizon": 0}
    of = case(rental, bought, running={})

    # 104 weeks cost 13,416.00 and the car 6,000.00: fewer weeks than 46.5 make the rental cheaper.
    found = switch(of, "months")
    assert (found.cheaper, found.low, found.high) == (OWNED["name"], 1, 60)
    assert found.value == 10  # 43 weeks; eleven months have 47


@pytest.mark.parametrize(("most", "value"), [(10, None), (11, 11), (12, 11)])
def test_months_are_tried_to_the_last_of_their_range_and_no_further(most: int, value: int | None) -> None:
    rental = RENTAL | {"early_exit": {"kind": "weeks", "value": 0}, "damage": 0}
    bought = OWNED | {"price": 6_000, "value_at_horizon": 0}
    of = case(
        rental, bought, running={}, months=6, uncertain=[{"input": "months", "low": 1, "likely": 6, "high": most}]
    )

    # Ten months are 43 weeks, 5,547.00; eleven are 47, 6,063.00.
    assert switch(of, "months").value == value


def test_weeks_off_switch_at_the_first_week_that_makes_the_difference() -> None:
    pausing = RENTAL | {"name": "Pausing", "pauses_when_off": True, "payment": 130, "damage": 0}
    of = case(RENTAL | {"damage": 0, "payment": 129}, pausing)

    # 104 more a pound each; a week off spares 130.
    found = switch(of, "weeks_off")
    assert (found.cheaper, found.base, found.low, found.high) == (RENTAL["name"], 0, 0, 92)
    assert found.value == 1


def test_a_month_at_which_a_car_could_not_be_handed_back_is_passed_over() -> None:
    back = PCP | {"payments": 24, "at_end": "hand_back", "name": "Handed back", "payment": 999}
    of = case(back, OWNED, running={})

    found = switch(of, "months")
    assert found.cheaper == OWNED["name"]
    assert found.value is None or found.value < 24
    with pytest.raises(CannotBeHandedBack):
        items_of(of.offers[0], varied(of, {("months", ""): Fraction(25)}).scenario)


def test_each_pair_is_asked_each_of_its_inputs_once() -> None:
    of = case(OWNED, PCP, RENTAL, HIRE, PURCHASE)

    asked = [(one.cheaper, one.than, one.input, one.offer) for one in switching_values(of)]
    assert len(set(asked)) == len(asked)
    pairs = {frozenset(one[:2]) for one in asked}
    assert len(pairs) == 10
    assert {one.offer for one in switching_values(of) if one.input == "payment"} == {RENTAL["name"], HIRE["name"]}
    for name in ("miles_per_year", "repairs_per_year", "weeks_off", "fuel_pence_per_mile", "months"):
        assert sum(one[2] == name for one in asked) == 10


def test_how_far_an_input_of_one_offer_may_go_is_its_own_range_else_that_of_all() -> None:
    of_all = {"input": "value_at_horizon", "low": 1_000, "likely": 4_000, "high": 9_000}
    of_one = {"input": "value_at_horizon", "offer": OWNED["name"], "low": 2_000, "likely": 4_000, "high": 5_000}

    of = case(OWNED, PURCHASE, uncertain=[of_all, of_one])
    owned, purchase = (switch(of, "value_at_horizon", offer["name"]) for offer in (OWNED, PURCHASE))
    assert (owned.low, owned.high) == (200_000, 500_000)
    assert (purchase.low, purchase.high) == (100_000, 900_000)


def test_an_input_that_cannot_go_anywhere_is_not_asked() -> None:
    asked = {one.input for one in switching_values(case(OWNED, RENTAL, running={}))}

    assert asked.isdisjoint({"repairs_per_year", "fuel_pence_per_mile"})


def test_what_is_said_of_one_offer_goes_before_what_is_said_of_all() -> None:
    of = case(OWNED, PURCHASE)
    values = {("value_at_horizon", OWNED["name"]): Fraction(1), ("value_at_horizon", ""): Fraction(2)}

    assert [offer.value_at_horizon for offer in varied(of, values).offers] == [1, 2]


def test_weeks_off_begin_with_the_first_and_none_of_them_is_none() -> None:
    of = case(OWNED)

    assert varied(of, {("weeks_off", ""): Fraction(3)}).scenario.off == WeeksOff(1, 3)
    assert varied(of, {("weeks_off", ""): Fraction(0)}).scenario.off is None


def test_an_input_of_an_offer_bears_only_on_offers_that_have_it() -> None:
    owned, rental, back = case(OWNED, RENTAL, PCP | {"at_end": "hand_back"}).offers

    assert [bears_on("payment", one) for one in (owned, rental, back)] == [False, True, False]
    assert [bears_on("value_at_horizon", one) for one in (owned, rental, back)] == [True, False, True]
    assert [bears_on("damage", one) for one in (owned, rental, back)] == [False, True, True]


@pytest.mark.parametrize("name", INPUTS)
def test_an_input_put_back_to_its_base_changes_no_total(name: str) -> None:
    of = case(OWNED, PCP, RENTAL, HIRE, PURCHASE)
    base = [one.total for one in compare(of).figures]
    owners = of.offers if INPUTS[name].of == "offer" else (None,)

    for owner in owners:
        key = (name, owner.name if owner else "")
        put_back = varied(of, {key: base_of(of, name, owner)})
        assert [total_of(items_of(offer, put_back.scenario)) for offer in put_back.offers] == base
