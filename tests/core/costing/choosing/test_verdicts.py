"""What can be said of two offers whatever isn't told comes to. Every sum is worked out by hand."""

from datetime import date
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from costing.choosing.core.case import Case, EarlyExit, Fuel, Offer, Running, Use
from costing.choosing.core.figures import Figures, figures
from costing.choosing.core.verdicts import PairVerdict, cheapest_of, verdicts
from costing.choosing.core.ways_out import CannotBeHandedBack
from costing.core.catalogue.running import RUNNING_PARTS
from tests.core.costing.choosing.cases import (
    ALL,
    OWNED,
    RENTAL,
    UNTOLD,
    case,
    cases,
    offers,
    pence,
    told_tables,
    uses,
    worked_out,
)

#: All in: 143 weeks at 142.50 and damage of 300.00, in all 20,677.50; past its 65 weeks it may be left at any time.
HIRED = RENTAL._replace(name="Hired", includes=ALL)
#: 6,450.00 less 3,300.00, in all 3,150.00.
BOUGHT = OWNED._replace(name="Bought", includes=ALL)


def verdict_on(*offers: Offer, running: Running = UNTOLD, **use: object) -> PairVerdict:
    made = case(*offers, running=running, **use)
    [found] = verdicts(made, worked_out(made))
    return found


def lacking(offer: Offer, *parts: str) -> Offer:
    """The offer without what it includes of these parts."""
    return offer._replace(includes=offer.includes - {*parts})


# --- Where all is told ------------------------------------------------------------------------------------


def test_of_two_told_totals_the_lower_is_cheaper() -> None:
    assert verdict_on(HIRED, BOUGHT) == PairVerdict("Hired", "Bought", "Bought", True, None, None, (), ())
    assert verdict_on(BOUGHT, HIRED) == PairVerdict("Bought", "Hired", "Bought", True, None, None, (), ())


def test_the_same_sum_is_settled_and_neither_is_cheaper() -> None:
    assert verdict_on(BOUGHT, BOUGHT._replace(name="Other")) == PairVerdict(
        "Bought", "Other", None, True, None, None, (), ()
    )


# --- Untold costs -----------------------------------------------------------------------------------------


# 20,677.50 less 3,150.00.
def test_the_untold_costs_of_the_cheaper_one_have_room() -> None:
    found = verdict_on(HIRED, lacking(BOUGHT, "servicing", "insurance"))
    assert found == PairVerdict("Bought", "Hired", None, False, 17_527_50, "Bought", ("insurance", "servicing"), ())


def test_what_is_dearer_before_anything_untold_is_settled_against() -> None:
    found = verdict_on(BOUGHT, lacking(HIRED, "fuel"))
    assert found == PairVerdict("Hired", "Bought", "Bought", True, None, None, ("fuel",), ())


def test_the_room_of_one_holds_whatever_the_other_s_untold_costs_come_to() -> None:
    found = verdict_on(lacking(BOUGHT, "mot"), lacking(HIRED, "fuel", "tyres"))
    assert (found.a, found.b) == ("Hired", "Bought")
    assert (found.cheaper, found.room, found.room_of) == (None, 17_527_50, "Bought")
    assert found.of == ("mot", "tyres", "fuel")


def test_untold_costs_with_a_bound_may_be_settled() -> None:
    # Left after 12 months: 52 x 142.50 and 300.00 are 7,710.00, and at most 13 x 142.50 = 1,852.50 on leaving.
    early = HIRED._replace(early_exit=None)
    for price, cheaper, room in ((9_562_50, "Hired", None), (9_562_49, None, 1_852_49)):
        found = verdict_on(early, BOUGHT._replace(price=price, value_at_horizon=0), months=12)
        assert (found.cheaper, found.room, found.is_settled) == (cheaper, room, cheaper is not None)
        assert found.of == ("early_exit",)


# --- What costs both the same -----------------------------------------------------------------------------


def test_what_is_untold_of_both_is_left_out_and_named() -> None:
    found = verdict_on(lacking(BOUGHT, "fuel"), lacking(HIRED, "fuel"))
    assert found == PairVerdict("Bought", "Hired", "Bought", True, None, None, (), ("fuel",))


def test_an_own_figure_for_it_leaves_nothing_out() -> None:
    own = Running(tyre_set=300_00)
    both = (lacking(BOUGHT, "tyres")._replace(running=own), lacking(HIRED, "tyres"))
    found = verdict_on(*both)
    assert (found.if_same, found.of, found.room) == ((), ("tyres",), 17_527_50)
    own = Running(insurance_given_back=Fraction(1, 2))
    both = (lacking(BOUGHT, "insurance")._replace(running=own), lacking(HIRED, "insurance"))
    assert verdict_on(*both).if_same == ()


def test_tests_are_left_out_only_if_they_fall_in_the_same_months() -> None:
    both = (lacking(BOUGHT, "mot"), lacking(HIRED, "mot"))
    assert verdict_on(*both).if_same == ("mot",)  # both are old enough from the start
    young = both[0]._replace(first_registered=date(2026, 1, 1))
    found = verdict_on(young, both[1])
    assert (found.cheaper, found.of, found.if_same) == (None, ("mot",), ())


# --- The value --------------------------------------------------------------------------------------------


def test_an_untold_value_is_solved_for_what_the_car_must_fetch() -> None:
    untold = BOUGHT._replace(price=30_000_00, value_at_horizon=None)
    found = verdict_on(HIRED, untold)
    assert found == PairVerdict("Bought", "Hired", None, False, 9_322_50, "Bought", ("value",), (), is_fetch=True)
    # One that costs less even if it fetches nothing is cheaper.
    assert verdict_on(HIRED, untold._replace(price=20_000_00)).cheaper == "Bought"


def test_beside_other_untold_costs_a_value_counts_as_nothing() -> None:
    untold = lacking(BOUGHT._replace(price=12_000_00, value_at_horizon=None), "tyres")
    found = verdict_on(HIRED, untold)
    assert (found.room, found.room_of, found.is_fetch) == (8_677_50, "Bought", False)
    dearer = untold._replace(price=30_000_00)
    assert verdict_on(HIRED, dearer)[2:6] == (None, False, None, None)


def test_of_two_untold_values_nothing_can_be_said() -> None:
    two = [BOUGHT._replace(name=name, value_at_horizon=None) for name in ("First", "Second")]
    assert verdict_on(*two) == PairVerdict("First", "Second", None, False, None, None, ("value",), ())


def test_a_value_is_solved_as_sold_where_damage_is_bounded_by_that() -> None:
    # After 12 of 36 payments of 380.00, 8,341.84 is owed; the half rule asks for 2,280.00.
    loan = Offer("Loan", "hire_purchase", price=12_000_00, payment=380_00, payments=36, includes=ALL)
    found = verdict_on(loan, BOUGHT._replace(price=8_000_00, value_at_horizon=0), months=12)
    assert (found.room, found.of, found.is_fetch) == (4_901_84, ("value", "damage"), True)


# --- The cheapest of all ----------------------------------------------------------------------------------


def test_the_cheapest_beats_every_other() -> None:
    three = case(HIRED, BOUGHT, BOUGHT._replace(name="Dear", price=8_000_00), running=UNTOLD)
    names = [offer.name for offer in three.offers]
    assert cheapest_of(names, verdicts(three, worked_out(three))) == "Bought"
    assert len(verdicts(three, worked_out(three))) == 3


@pytest.mark.parametrize(
    "offers",
    [
        (BOUGHT,),
        (BOUGHT, BOUGHT._replace(name="Other")),
        (lacking(BOUGHT, "fuel"), lacking(HIRED, "fuel")),
        (BOUGHT, lacking(BOUGHT._replace(name="Other", price=6_000_00), "fuel"), HIRED),
    ],
    ids=["one alone", "the same sum", "only if fuel costs the same", "one is open"],
)
def test_there_is_no_cheapest(offers: tuple[Offer, ...]) -> None:
    made = case(*offers, running=UNTOLD)
    assert cheapest_of([offer.name for offer in offers], verdicts(made, worked_out(made))) is None


def test_the_parts_left_out_are_running_costs() -> None:
    found = verdict_on(BOUGHT._replace(includes=frozenset()), HIRED._replace(includes=frozenset()))
    assert {*found.if_same} == {*RUNNING_PARTS}


# --- Rules that hold for all ------------------------------------------------------------------------------


def rival(price: int) -> Offer:
    """One of which all is told, and which costs exactly so much."""
    return Offer("Rival", "owned", price=price, value_now=0, value_at_horizon=0, includes=ALL)


@st.composite
def completed(draw: st.DrawFn, case: Case, offer: Offer, sums: st.SearchStrategy[int]) -> Offer:
    """The offer with every figure that may be untold told."""
    common = case.running_of(offer)
    told = {name: draw(sums) for name, figure in common._asdict().items() if figure is None}
    told |= {"fuel": common.fuel or (Fuel(Fraction(draw(sums), 100)),)}
    told |= {"insurance": common.insurance or (draw(sums),)}
    if common.tyre_set_miles is None:
        told |= {"tyre_set": draw(sums), "tyre_set_miles": Fraction(20_000)}
    told |= {"insurance_given_back": _or(common.insurance_given_back, Fraction(0))}  # as it is assumed
    rule = EarlyExit("weeks", Fraction(draw(sums), 100)) if offer.is_hire else None
    return offer._replace(
        running=offer.running._replace(**told),
        value_at_horizon=None if offer.is_hire else _or(offer.value_at_horizon, draw(sums)),
        damage=_or(offer.damage, draw(sums)),
        excess_pence_per_mile=_or(offer.excess_pence_per_mile, Fraction(draw(sums), 100)),
        early_exit=offer.early_exit or rule,
    )


def _or(told: Any, other: Any) -> Any:
    return other if told is None else told


def with_car(case: Case) -> Figures:
    """The figures of its one offer, planned so that there is a car all the time."""
    [offer] = case.offers
    try:
        return figures(case, offer)
    except CannotBeHandedBack:
        return figures(case, offer._replace(at_end="sell"))


@given(cases(), st.data())
def test_whatever_is_untold_a_settled_verdict_stays(made: Case, data: st.DataObject) -> None:
    found = with_car(made)
    near = [found.told - 1, found.told, found.told + 1]
    near += [found.at_most, found.at_most + 1] if found.at_most is not None else []
    one = rival(max(0, data.draw(st.sampled_from(near))))
    pair = made._replace(offers=(found.offer, one))
    [verdict] = verdicts(pair, worked_out(pair))
    whole = made._replace(offers=(data.draw(completed(made, found.offer, pence(3_000_00))), one))
    total, price = (figures.total for figures in worked_out(whole))
    assert total is not None
    assert price == one.price
    if verdict.is_settled:
        assert {verdict.cheaper} <= {found.offer.name, one.name, None}
        assert total <= price if verdict.cheaper == found.offer.name else total >= price
        assert verdict.cheaper or total == price


@given(cases(most_offers=2), st.data())
def test_two_of_which_much_is_untold_stay_settled(made: Case, data: st.DataObject) -> None:
    try:
        pairs = verdicts(made, worked_out(made))
    except CannotBeHandedBack:
        return
    whole = made._replace(offers=tuple(data.draw(completed(made, one, pence(3_000_00))) for one in made.offers))
    totals = {one.offer.name: one.total or 0 for one in worked_out(whole)}
    for verdict in pairs:
        if verdict.cheaper and not verdict.if_same:
            assert totals[verdict.cheaper] == min(totals[verdict.a], totals[verdict.b])


sold = st.sampled_from(["owned", "hire_purchase", "pcp"]).flatmap(offers)


@given(sold, uses(), told_tables, st.booleans(), st.data())
def test_a_car_that_fetches_the_room_makes_both_totals_the_same(
    offer: Offer, use: Use, running: Running, knows_damage: bool, data: st.DataObject
) -> None:
    at_end = "sell" if offer.way.has_choice_of_end and not knows_damage else None
    offer = offer._replace(
        value_at_horizon=None,
        value_now=offer.value_now or 1,
        on_leaving="cheapest",
        at_end=at_end,
        damage=(offer.damage or 0) if knows_damage else None,
        excess_pence_per_mile=Fraction(8),
    )
    most = with_car(Case(use, running, (offer,))).at_most
    assume(most is not None and most > 0)
    pair = Case(use, running, (offer, rival(data.draw(st.integers(0, (most or 1) - 1)))))
    [verdict] = verdicts(pair, worked_out(pair))
    assert (verdict.room_of, verdict.is_fetch) == (offer.name, True)
    assert (verdict.room or 0) > 0
    settled = offer._replace(value_at_horizon=verdict.room, on_leaving="settle", at_end=offer.at_end and "sell")
    one, other = worked_out(pair._replace(offers=(settled, pair.offers[1])))
    assert one.total == other.total


@given(cases(), st.integers(1, 9_000_00), st.data())
def test_untold_costs_that_come_to_the_room_make_both_totals_the_same(
    made: Case, room: int, data: st.DataObject
) -> None:
    [offer] = made.offers
    offer = offer._replace(includes=offer.includes - {"fit_out"}, running=offer.running._replace(fit_out=None))
    made = made._replace(offers=(offer,), running=made.running._replace(fit_out=None))
    found = with_car(made)
    assume(found.told + room >= 0)
    pair = made._replace(offers=(found.offer, rival(found.told + room)))
    [verdict] = verdicts(pair, worked_out(pair))
    assert (verdict.room, verdict.room_of, verdict.is_fetch) == (room, found.offer.name, False)
    whole = data.draw(completed(made, found.offer, st.just(0)))
    whole = whole._replace(running=whole.running._replace(fit_out=room))
    one, other = worked_out(pair._replace(offers=(whole, pair.offers[1])))
    assert one.total == other.total
