"""Every way out of an offer, what it costs, and which is taken. Every sum is worked out by hand."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costing.choosing.core.case import EarlyExit, Offer, Use
from costing.choosing.core.figures import Figures
from costing.choosing.core.ways_out import CannotBeHandedBack
from tests.core.costing.choosing.cases import (
    ALL,
    HIRE,
    OWNED,
    PCP,
    RENTAL,
    case,
    offers,
    one,
    uses,
    worked_out,
)

#: Facts H8-E5: after the 12th of 36 payments 8,341.84 is owed.
LOAN = Offer("Loan", "hire_purchase", price=12_000_00, payment=380_00, payments=36, damage=0, value_at_horizon=0)
#: Facts H8-E1: half of 16,410.00 is 8,205.00; 12 payments and the deposit make 6,800.00.
HALVED = Offer(
    "Halved",
    "hire_purchase",
    price=13_000_00,
    deposit=2_000_00,
    payment=400_00,
    payments=36,
    final_payment=10_00,
    damage=0,
    value_at_horizon=0,
)


def ways(found: Figures) -> dict[str, int | None]:
    return {way.way: way.pence for way in found.ways_out}


def left_at(month: int, offer: Offer, **use: object) -> Figures:
    """The figures of one offer that is planned for so many months."""
    return one(offer, months=month, **use)


def test_an_owned_car_is_sold() -> None:
    assert ways(one(OWNED)) == {"sell": -3_300_00}
    assert one(OWNED).way_out == "sell"


# --- Credit inside its term -------------------------------------------------------------------------------


def test_settling_costs_what_the_payments_to_come_are_worth_less_the_value() -> None:
    found = left_at(12, LOAN._replace(value_at_horizon=6_000_00, on_leaving="settle"))
    assert ways(found)["settle"] == 8_341_84 - 6_000_00
    assert found.way_out == "settle"
    assert found.flow.parts == {"payments": 12 * 380_00, "settlement": 8_341_84, "value_back": -6_000_00}


def test_without_interest_one_owes_the_payments_to_come() -> None:
    free = LOAN._replace(payment=333_34, price=12_000_24, on_leaving="settle")
    assert left_at(12, free).flow.parts["settlement"] == 24 * 333_34


@pytest.mark.parametrize("price", [14_000_00, 0])
def test_where_no_rate_fits_one_owes_the_payments_to_come(price: int) -> None:
    assert left_at(12, LOAN._replace(price=price, half_rule=False)).flow.parts["settlement"] == 24 * 380_00


# After a weekly payment by month 12, the 52nd, the same sums are owed as after the 52nd monthly one.
def test_a_settlement_counts_the_payments_that_fell_due() -> None:
    weekly = LOAN._replace(frequency="week", payments=104, payment=131_54, half_rule=False)
    monthly = weekly._replace(frequency="month")
    assert left_at(12, weekly).flow.parts["settlement"] == left_at(52, monthly).flow.parts["settlement"]


@pytest.mark.parametrize(("month", "to_pay"), [(12, 1_405_00), (15, 205_00), (16, 0), (30, 0)])
def test_the_half_rule_asks_for_half_the_total_price_less_what_was_paid(month: int, to_pay: int) -> None:
    found = left_at(month, HALVED._replace(on_leaving="half_rule"))
    assert ways(found)["half_rule"] == to_pay
    assert found.flow.parts.get("half_rule", 0) == to_pay


def test_half_a_penny_of_the_half_rule_is_rounded_up() -> None:
    odd = Offer("Odd", "hire_purchase", price=90_00, payment=33_33, payments=3, damage=0, value_at_horizon=0)
    assert ways(left_at(1, odd))["half_rule"] == 50_00 - 33_33  # of 49.995


def test_fees_count_in_the_half_rule_as_price_and_as_paid() -> None:
    assert ways(left_at(12, HALVED._replace(fees=100_00)))["half_rule"] == 1_405_00 - 50_00


def test_one_leaves_by_the_cheapest_way() -> None:
    by_half, by_settling = HALVED, HALVED._replace(value_at_horizon=11_000_00)
    assert (left_at(12, by_half).way_out, left_at(12, by_settling).way_out) == ("half_rule", "settle")
    for offer in (by_half, by_settling):
        assert left_at(12, offer._replace(on_leaving="settle")).way_out == "settle"
        assert left_at(12, offer._replace(on_leaving="half_rule")).way_out == "half_rule"


def test_of_two_ways_at_the_same_sum_one_settles() -> None:
    owed = left_at(12, HALVED).ways_out[0].pence or 0
    for more, way in ((0, "settle"), (-1, "half_rule")):
        found = left_at(12, HALVED._replace(value_at_horizon=owed - 1_405_00 + more))
        assert found.way_out == way
        assert found.flow.months[12] == 400_00 + 1_405_00


# Facts H8-E3 and E4: credit of 25,000.00 is protected, a penny more isn't.
@pytest.mark.parametrize(
    ("credit", "told", "applies", "why"),
    [
        (25_000_00, None, True, ""),
        (25_000_01, None, False, "the law does not give it where so much is lent for work"),
        (25_000_01, True, True, ""),
        (5_000_00, False, False, "the agreement does not give it"),
    ],
)
def test_the_half_rule_goes_by_the_credit_unless_the_agreement_says(
    credit: int, told: bool | None, applies: bool, why: str
) -> None:
    offer = HALVED._replace(price=2_000_00 + credit, payment=800_00, half_rule=told)
    settle, half = left_at(12, offer).ways_out
    assert ((half.pence is not None), half.reason) == (applies, why)
    if not applies:
        assert settle.is_taken
        assert left_at(12, offer._replace(on_leaving="half_rule")).way_out == "settle"


# 21,000 miles, of which 12,000 are allowed, at 7.5p.
def test_handing_back_by_the_half_rule_charges_damage_and_disputed_miles() -> None:
    offer = HALVED._replace(
        damage=250_00, mileage_allowance=Fraction(12_000), excess_pence_per_mile=Fraction("7.5"), on_leaving="half_rule"
    )
    settle, half = left_at(12, offer).ways_out
    assert (half.pence, half.disputed) == (1_405_00 + 250_00 + 675_00, 675_00)
    assert settle.disputed == 0
    parts = left_at(12, offer).flow.parts
    assert (parts["half_rule"], parts["damage"], parts["excess_miles"]) == (1_405_00, 250_00, 675_00)


def test_the_allowance_grows_with_the_months() -> None:
    offer = HALVED._replace(mileage_allowance=Fraction(12_000), excess_pence_per_mile=Fraction("7.5"))
    assert left_at(8, offer).ways_out[1].disputed == 450_00


# --- A PCP whose term ends as one leaves ------------------------------------------------------------------

ENDING = PCP._replace(payments=33)


# 57,750 miles, of which 12,000 x 33/12 = 33,000 are allowed: 24,750 at 7.5p are 1,856.25.
def test_a_pcp_s_term_ends_in_three_ways() -> None:
    found = one(ENDING)
    assert ways(found) == {
        "sell": 5_700_00 - 7_000_00,
        "keep": 5_700_00 - 7_000_00,
        "hand_back": 250_00 + 1_856_25,
    }
    assert found.way_out == "sell"
    assert found.flow.months[33] == 214_00 + 5_700_00 - 7_000_00


def test_the_plan_may_say_which() -> None:
    for at_end in ("sell", "keep", "hand_back"):
        found = one(ENDING._replace(at_end=at_end))
        assert found.way_out == at_end
        assert ("final_payment" in found.flow.parts) == (at_end != "hand_back")
    assert one(ENDING._replace(at_end="keep")).total == one(ENDING._replace(at_end="sell")).total


@pytest.mark.parametrize(("value", "way"), [(3_593_74, "hand_back"), (3_593_75, "sell")])
def test_where_nothing_is_said_the_lower_of_selling_and_handing_back_is_taken(value: int, way: str) -> None:
    assert one(ENDING._replace(value_at_horizon=value)).way_out == way


# 143 weeks are 2.75 years of 52; 142 are 2.7307...
def test_weekly_terms_count_their_allowance_by_52_weeks() -> None:
    weekly = ENDING._replace(frequency="week", payments=143, payment=49_00, at_end="hand_back")
    assert ways(one(weekly))["hand_back"] == 250_00 + 1_856_25


def test_a_pcp_that_runs_past_the_horizon_is_left_as_on_leaving_says() -> None:
    assert one(PCP._replace(at_end="hand_back", on_leaving="half_rule")).way_out == "half_rule"
    assert one(PCP._replace(at_end="hand_back", on_leaving="settle")).way_out == "settle"


def test_a_plan_that_hands_the_car_back_before_one_leaves_is_refused() -> None:
    short = PCP._replace(payments=30, at_end="hand_back")
    with pytest.raises(CannotBeHandedBack, match="after 30 months, which leaves no car for the rest of the 33 months"):
        one(short)
    assert left_at(30, short).way_out == "hand_back"
    assert left_at(29, short).way_out in ("settle", "half_rule")
    assert one(short._replace(at_end=None)).way_out == "sell"


# --- Hire -------------------------------------------------------------------------------------------------


# 57,750 miles, of which 18,000 x 33/12 = 49,500 are allowed, at 8p; 21 of the second term's 27 payments are to come.
def test_hire_inside_its_term_is_left_early() -> None:
    [way] = one(HIRE).ways_out
    assert (way.way, way.pence) == ("early_exit", 660_00 + 200_00 + 21 * 134_00)
    parts = one(HIRE).flow.parts
    assert (parts["early_exit"], parts["excess_miles"], parts["damage"]) == (2_814_00, 660_00, 200_00)


def test_hire_whose_term_ends_is_handed_back() -> None:
    [way] = left_at(27, HIRE).ways_out
    assert (way.way, way.pence) == ("hand_back", 540_00 + 200_00)


# Of 65 weeks 52 are paid, 13 are to come. A month's 268.00 is 61.846... a week.
@pytest.mark.parametrize(
    ("offer", "rule", "charge"),
    [
        (RENTAL, EarlyExit("weeks", Fraction(6)), 6 * 142_50),
        (RENTAL, EarlyExit("weeks", Fraction("2.5")), 356_25),
        (RENTAL, EarlyExit("weeks", Fraction(20)), 13 * 142_50),
        (RENTAL, EarlyExit("share_of_remaining", Fraction("0.333")), 616_88),
        (RENTAL, EarlyExit("share_of_remaining", Fraction(1)), 13 * 142_50),
        (HIRE, EarlyExit("weeks", Fraction(8)), 494_77),
        (HIRE, EarlyExit("weeks", Fraction(90)), 15 * 268_00),
    ],
)
def test_leaving_early_costs_what_the_contract_says_at_most_the_payments_to_come(
    offer: Offer, rule: EarlyExit, charge: int
) -> None:
    assert left_at(12, offer._replace(early_exit=rule)).flow.parts["early_exit"] == charge


def test_hire_that_has_rolled_on_is_left_for_nothing() -> None:
    assert left_at(16, RENTAL).way_out == "hand_back"
    assert left_at(14, RENTAL).way_out == "early_exit"  # 60 of 65 weeks
    assert left_at(16, RENTAL._replace(then="renew")).way_out == "early_exit"  # 4 weeks of the second term
    assert left_at(28, HIRE._replace(then="rolls")).way_out == "hand_back"


# --- What isn't told --------------------------------------------------------------------------------------


def test_a_way_with_an_untold_sum_has_no_amount_but_a_reason() -> None:
    untold = HALVED._replace(
        damage=None, value_at_horizon=None, mileage_allowance=Fraction(1_000), excess_pence_per_mile=None
    )
    settle, half = left_at(12, untold).ways_out
    assert (settle.pence, settle.reason) == (None, "nobody has told what the car will fetch")
    assert half.pence is None
    assert half.reason == (
        "nobody has told what damage will be charged, and nobody has told what a mile above the allowance costs"
    )
    [early] = left_at(12, RENTAL._replace(early_exit=None)).ways_out
    assert (early.pence, early.reason) == (None, "nobody has told what leaving before the term ends costs")
    assert early.is_taken


def test_of_untold_ways_the_lowest_with_nothing_in_their_place_is_taken() -> None:
    # Settling costs 8,341.84 less an unknown value; half of 13,680.00 less 4,560.00 is 2,280.00.
    untold = LOAN._replace(value_at_horizon=None)
    found = left_at(12, untold)
    assert (found.way_out, found.told) == ("half_rule", 4_560_00 + 2_280_00)
    assert found.not_told == ("value",)


# --- Rules that hold for all ------------------------------------------------------------------------------

leavable = st.sampled_from(["hire_purchase", "pcp"]).flatmap(offers)


@given(leavable, uses())
def test_the_way_taken_is_the_lowest_where_one_may_choose(offer: Offer, use: Use) -> None:
    free = offer._replace(
        at_end=None, on_leaving="cheapest", includes=ALL, damage=250_00, excess_pence_per_mile=Fraction(9)
    )
    free = free._replace(value_at_horizon=offer.value_at_horizon or 0)
    [found] = worked_out(case(free)._replace(use=use))
    told = [way.pence for way in found.ways_out if way.pence is not None]
    [taken] = [way for way in found.ways_out if way.is_taken]
    assert taken.pence == min(told)
    plans = [free._replace(on_leaving="settle"), free._replace(at_end="keep"), free._replace(at_end="sell")]
    for plan in plans:
        [planned] = worked_out(case(plan)._replace(use=use))
        assert planned.told >= found.told
