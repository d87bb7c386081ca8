"""Where the cheaper of two offers changes: worked examples, and what must hold for random ones."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from costing.core.offers.cash_flow import items_of, total_of
from costing.core.offers.compare import compare
from costing.core.offers.exits import CannotBeHandedBack
from costing.core.offers.inputs import INPUTS, base_of, bears_on, varied
from costing.core.offers.switching import Switch, switching_values
from costing.core.offers.terms import Case
from costing.offers.document import read_document
from costing.offers.validation import Unreadable
from tests.core.costing.offers.cases import (
    HIRE,
    OWNED,
    PCP,
    PURCHASE,
    RENTAL,
    RUNNING,
    Table,
    any_offer,
    case,
    runnings,
    uses,
)

#: Pence by which two totals may differ from the straight line: each of a few sums is rounded by itself.
ROUNDING = 4


def switch(of: Case, name: str, offer: str = "") -> Switch:
    """The one switching value of two offers for an input."""
    [found] = [one for one in switching_values(of) if (one.input, one.offer) == (name, offer)]
    return found


def lead(of: Case, found: Switch, value: Fraction) -> int | None:
    """By how many pence the one that is said to be cheaper leads, the input at that value."""
    at_value = varied(of, {(found.input, found.offer): value})
    by_name = {offer.name: offer for offer in at_value.offers}
    try:
        one, other = (total_of(items_of(by_name[name], at_value.scenario)) for name in (found.cheaper, found.than))
    except CannotBeHandedBack:
        return None
    return other - one


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
    ("fuel", "tyres", "deposit", "excess"),
    [("6.146", "569.83", 136, "14.03"), ("6.626", "506.27", 245, "29.86"), ("5.476", "789.53", 392, "24.62")],
)
def test_totals_meet_within_a_penny_where_the_roundings_bend_the_line(
    fuel: str, tyres: str, deposit: int, excess: str
) -> None:
    # Fuel, tyres and excess miles are each rounded: in these the first line through the ends misses by two pence.
    lent = HIRE | {"name": "With an allowance", "includes": ["fuel", "tyres"], "deposit": 0}
    lent |= {"mileage_allowance": 0, "excess_pence_per_mile": Decimal(excess)}
    free = HIRE | {"name": "Without one", "includes": [], "deposit": deposit, "mileage_allowance": 90_000}
    running = {"fuel_pence_per_mile": Decimal(fuel), "tyre_set": Decimal(tyres)}
    of = case(lent, free, running=running, months=11)

    found = switch(of, "miles_per_year")
    assert found.value is not None
    assert abs(lead(of, found, found.value) or 0) <= 1


def test_months_switch_at_the_first_month_away_from_the_plan() -> None:
    rental = RENTAL | {"early_exit": {"kind": "weeks", "value": 0}, "damage": 0}
    bought = OWNED | {"price": 6_000, "value_at_horizon": 0}
    of = case(rental, bought, running={})

    # 104 weeks cost 13,416.00 and the car 6,000.00: fewer weeks than 46.5 make the rental cheaper.
    found = switch(of, "months")
    assert (found.cheaper, found.low, found.high) == (OWNED["name"], 1, 60)
    assert found.value == 10  # 43 weeks; eleven months have 47


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


def test_an_input_that_cannot_go_anywhere_is_not_asked() -> None:
    asked = {one.input for one in switching_values(case(OWNED, RENTAL, running={}))}

    assert asked.isdisjoint({"repairs_per_year", "fuel_pence_per_mile"})


def test_what_is_said_of_one_offer_goes_before_what_is_said_of_all() -> None:
    of = case(OWNED, PURCHASE)
    values = {("value_at_horizon", OWNED["name"]): Fraction(1), ("value_at_horizon", ""): Fraction(2)}

    assert [offer.value_at_horizon for offer in varied(of, values).offers] == [1, 2]


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


# Random pairs


@st.composite
def pairs(draw: st.DrawFn) -> Case:
    """Two random offers on one footing."""
    document: Table = {
        "use": draw(uses(months=draw(st.integers(1, 30)))),
        "running": RUNNING | draw(runnings),
        "offer": [draw(any_offer) | {"name": "One"}, draw(any_offer) | {"name": "Other"}],
    }
    try:
        return read_document(document).case
    except Unreadable as refused:
        assume("is handed back" not in str(refused))
        raise


def grid(low: Fraction, high: Fraction, steps: int = 8) -> list[Fraction]:
    return [low + (high - low) * k / steps for k in range(steps + 1)]


# One test for all that must hold of a pair: to draw two offers and work out their switching values takes longest.
@given(pairs())
def test_every_switching_value_is_where_the_cheaper_one_changes(of: Case) -> None:
    for found in switching_values(of):
        if INPUTS[found.input].is_whole:
            is_the_first_step_at_which_the_other_is_cheaper(of, found)
            continue
        is_where_the_totals_meet(of, found)
        if found.input != "miles_per_year" or not any(offer.mileage_allowance is not None for offer in of.offers):
            is_a_straight_line(of, found)


def is_the_first_step_at_which_the_other_is_cheaper(of: Case, found: Switch) -> None:
    steps = [Fraction(step) for step in range(int(found.low), int(found.high) + 1)]
    if found.value is not None:
        assert found.value in steps
        assert (lead(of, found, found.value) or 0) < 0
        steps = [step for step in steps if abs(step - found.base) < abs(found.value - found.base)]
    assert all((lead(of, found, step) or 0) >= 0 for step in steps)


def is_where_the_totals_meet(of: Case, found: Switch) -> None:
    if found.value is None:
        assert all((lead(of, found, value) or 0) >= -ROUNDING for value in grid(found.low, found.high))
        return
    assert found.low <= found.value <= found.high
    assert abs(lead(of, found, found.value) or 0) <= 1
    # From the base to the value the cheaper one leads; a little beyond, it does not.
    assert all((lead(of, found, value) or 0) >= -ROUNDING for value in grid(found.base, found.value))
    beyond = found.value + (1 if found.value >= found.base else -1) * (found.high - found.low) / 10**6
    if found.value != found.base and found.low <= beyond <= found.high:
        assert (lead(of, found, beyond) or 0) <= ROUNDING


def is_a_straight_line(of: Case, found: Switch) -> None:
    """What the solver rests on: half-way between two values is half-way between totals, without an allowance."""
    leads = [lead(of, found, value) or 0 for value in grid(found.low, found.high, 8)]
    for start, middle, end in zip(leads[::2], leads[1::2], leads[2::2], strict=False):
        assert abs(2 * middle - (start + end)) <= 4 * ROUNDING
