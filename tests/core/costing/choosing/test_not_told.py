"""What is listed as not told, the bounds that leaves, and what is assumed."""

from fractions import Fraction

import pytest

from costing.choosing.core.case import Chance, Offer, Running
from costing.choosing.core.figures import Figures
from costing.core.catalogue.running import RUNNING_PARTS, RunningPart
from tests.core.costing.choosing.cases import (
    HIRE,
    OWNED,
    PCP,
    PURCHASE,
    RENTAL,
    RUNNING,
    UNTOLD,
    case,
    one,
    worked_out,
)

PART = pytest.mark.parametrize("part", RUNNING_PARTS.values(), ids=RUNNING_PARTS)
#: After 12 of 36 payments 8,341.84 is owed; the half rule asks for 2,280.00.
LOAN = Offer("Loan", "hire_purchase", price=12_000_00, payment=380_00, payments=36, damage=0, value_at_horizon=5_000_00)


def only(offer: Offer, running: Running = RUNNING, **use: object) -> Figures:
    [found] = worked_out(case(offer, running=running, **use))
    return found


@PART
def test_a_part_without_a_figure_is_listed_unless_it_is_included(part: RunningPart) -> None:
    for field in (part.field, part.life_key):
        if field:
            without = RUNNING._replace(**{field: None})
            assert only(OWNED, without).not_told == (part.name,)
            assert part.name not in only(OWNED, without).flow.parts
            assert only(OWNED._replace(includes=frozenset({part.name})), without).not_told == ()


@PART
def test_a_part_told_in_the_offer_s_own_table_is_told(part: RunningPart) -> None:
    own = UNTOLD._replace(**{field: getattr(RUNNING, field) for field in part.fields})
    assert {*only(OWNED._replace(running=own), UNTOLD).not_told} == RUNNING_PARTS.keys() - {part.name}


def test_nothing_told_at_all_is_listed_in_one_order() -> None:
    bare = PCP._replace(
        first_registered=None,
        damage=None,
        excess_pence_per_mile=None,
        value_at_horizon=None,
        payments=33,
        final_payment=9_000_00,
    )
    assert only(bare, UNTOLD).not_told == (*RUNNING_PARTS, "value", "damage", "excess_miles")
    early = RENTAL._replace(includes=frozenset(), damage=None, early_exit=None)
    assert only(early, UNTOLD, months=12).not_told == (*RUNNING_PARTS, "early_exit", "damage")


def test_an_mot_that_never_falls_due_is_not_missing() -> None:
    without = RUNNING._replace(mot=None)
    assert only(OWNED, without, months=11).not_told == ()
    assert only(HIRE._replace(then="rolls"), without).not_told == ()


# --- Leaving ----------------------------------------------------------------------------------------------


def test_a_value_is_missing_wherever_the_car_may_be_sold() -> None:
    for offer in (OWNED, PURCHASE, PCP, PCP._replace(payments=33), PCP._replace(payments=33, at_end="keep")):
        found = one(offer._replace(value_at_horizon=None))
        assert found.not_told == ("value",)
        assert (found.at_least, found.at_most) == (None, found.told)
    for offer in (PURCHASE._replace(on_leaving="half_rule"), PCP._replace(payments=33, at_end="hand_back")):
        assert one(offer._replace(value_at_horizon=None)).not_told == ()


def test_damage_is_missing_where_the_car_goes_back() -> None:
    for offer in (HIRE, RENTAL, PCP._replace(payments=33, at_end="hand_back"), LOAN._replace(on_leaving="half_rule")):
        found = one(offer._replace(damage=None))
        assert found.not_told == ("damage",)
        assert (found.at_least, found.at_most) == (found.told, None)
    assert one(LOAN._replace(damage=None, on_leaving="settle")).not_told == ()
    assert one(OWNED).not_told == ()


def test_extra_miles_are_missing_only_once_an_allowance_is_passed() -> None:
    hire = HIRE._replace(excess_pence_per_mile=None)
    assert one(hire).not_told == ("excess_miles",)
    assert one(hire._replace(mileage_allowance=Fraction(21_000))).not_told == ()
    assert one(hire._replace(mileage_allowance=None)).not_told == ()


# 12 of 36 are paid: 8,341.84 - 5,000.00 to settle, 2,280.00 and damage by the half rule. Damage of 1,061.84 and more
# makes one settle.
def test_untold_damage_is_bounded_by_the_other_way() -> None:
    found = one(LOAN._replace(damage=None), months=12)
    assert found.not_told == ("damage",)
    assert (found.at_least, found.at_most) == (found.told, found.told + 1_061_84)
    for damage, total in ((0, found.told), (1_000_00, found.told + 1_000_00), (9_000_00, found.told + 1_061_84)):
        assert one(LOAN._replace(damage=damage), months=12).total == total


def test_untold_damage_of_a_way_that_is_dearer_without_it_is_not_missing() -> None:
    found = one(LOAN._replace(damage=None, value_at_horizon=6_100_00), months=12)
    assert (found.way_out, found.not_told, found.total) == ("settle", (), found.told)


def test_where_value_and_damage_are_untold_the_most_is_settling_a_car_that_fetches_nothing() -> None:
    found = one(LOAN._replace(damage=None, value_at_horizon=None), months=12)
    assert found.not_told == ("value", "damage")
    assert (found.at_least, found.at_most) == (None, 12 * 380_00 + 8_341_84)
    assert found.if_sold == found.at_most


# Of 65 weekly payments 13 are to come.
def test_leaving_early_costs_at_most_the_payments_to_come() -> None:
    found = one(RENTAL._replace(early_exit=None), months=12)
    assert found.not_told == ("early_exit",)
    assert (found.at_least, found.at_most) == (found.told, found.told + 13 * 142_50)
    assert one(RENTAL._replace(early_exit=None, damage=None), months=12).at_most is None
    assert one(RENTAL._replace(early_exit=None), months=16).not_told == ()


def test_an_untold_running_cost_has_no_bound_unless_it_is_left_out() -> None:
    found = only(OWNED, RUNNING._replace(fuel=None, mot=None))
    assert found.not_told == ("mot", "fuel")
    assert (found.at_least, found.at_most) == (found.told, None)
    assert found.at_most_without(("fuel",)) is None
    assert found.at_most_without(("fuel", "mot")) == found.told


# --- What is assumed --------------------------------------------------------------------------------------


def test_what_the_insurer_gives_back_is_assumed_where_one_leaves_inside_a_year() -> None:
    without = RUNNING._replace(insurance_given_back=None)
    assert only(OWNED, without).assumed == ("insurance_given_back",)
    assert only(OWNED, without, months=24).assumed == ()
    assert only(OWNED, without._replace(insurance=(0,))).assumed == ()
    assert only(OWNED._replace(includes=frozenset({"insurance"})), without).assumed == ()
    assert only(OWNED, without._replace(insurance=None)).assumed == ()


def test_what_the_car_would_fetch_now_is_assumed_where_the_curve_counts() -> None:
    assert only(OWNED).assumed == ()
    [early] = worked_out(case(OWNED), months=12)
    assert early.assumed == ("value_now",)
    for told in (OWNED._replace(value_now=6_000_00), OWNED._replace(value_at_horizon=None), RENTAL):
        [early] = worked_out(case(told), months=12)
        assert "value_now" not in early.assumed


def test_miles_without_an_allowance_are_assumed_free_where_the_car_may_go_back() -> None:
    assert one(RENTAL, months=24).assumed == ("mileage_allowance",)
    assert one(HIRE).assumed == ()
    assert one(LOAN, months=12).assumed == ("mileage_allowance",)
    assert one(LOAN._replace(on_leaving="settle"), months=12).assumed == ()


def test_settling_goes_by_the_contract_where_the_credit_is_exempt_or_a_company_s() -> None:
    assert one(LOAN._replace(half_rule=False), months=12).assumed == ("settlement",)
    assert one(LOAN._replace(half_rule=False), months=36).assumed == ()
    large = LOAN._replace(price=26_000_00, payment=800_00)
    assert one(large, months=12).assumed == ("settlement",)
    assert one(large._replace(half_rule=True, on_leaving="settle"), months=12).assumed == ()


def test_an_expected_total_rests_on_what_is_assumed_where_one_leaves_early() -> None:
    leaving = (Chance(7, Fraction("0.2")), Chance(12, Fraction(0)))
    without = RUNNING._replace(insurance_given_back=None)
    assert only(OWNED, without, months=24, leaving=leaving).assumed == ("insurance_given_back", "value_now")
    assert only(OWNED, without, months=24, leaving=leaving[1:]).assumed == ()
    # Without a total, nothing rests on it.
    assert only(OWNED, without._replace(fuel=None), months=24, leaving=leaving).assumed == ()
