"""What must hold of every value at which the cheaper of two offers changes: there their totals meet."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from costing.choosing.core.case import Case
from costing.choosing.core.cash_flow import items_of, total_of
from costing.choosing.core.inputs import INPUTS, varied
from costing.choosing.core.switching import Switch, switching_values
from costing.choosing.core.ways_out import CannotBeHandedBack
from costing.choosing.document.checks import Unreadable
from costing.choosing.document.reading import read_document
from tests.core.costing.choosing.cases import HIRE, RUNNING, Table, any_offer, case, runnings, uses
from tests.core.costing.choosing.test_switching import switch

#: Pence by which two totals may differ from the straight line: each of a few sums is rounded by itself.
ROUNDING = 4


def lead(of: Case, found: Switch, value: Fraction) -> int | None:
    """By how many pence the one that is said to be cheaper leads, the input at that value."""
    at_value = varied(of, {(found.input, found.offer): value})
    by_name = {offer.name: offer for offer in at_value.offers}
    try:
        one, other = (total_of(items_of(by_name[name], at_value.scenario)) for name in (found.cheaper, found.than))
    except CannotBeHandedBack:
        return None
    return other - one


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
