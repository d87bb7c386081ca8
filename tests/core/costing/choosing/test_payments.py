"""What is paid for the car itself, in which month. Every sum is worked out by hand."""

from datetime import date
from fractions import Fraction

import pytest

from costing.choosing.core.case import EarlyExit, Offer, WeeksOff, WhatIf
from tests.core.costing.choosing.cases import ALL, HIRE, OWNED, PCP, PURCHASE, RENTAL, case, one, worked_out


def bare(offer: Offer) -> Offer:
    """The offer with nothing to pay but what is agreed, and free to leave."""
    free = EarlyExit("weeks", Fraction(0)) if offer.is_hire else None
    return offer._replace(includes=ALL, damage=0, mileage_allowance=None, early_exit=free)


def test_an_owned_car_is_paid_at_the_start() -> None:
    assert one(OWNED).flow.months[0] == 6_450_00
    assert one(OWNED).flow.parts == {"price": 6_450_00, "value_back": -3_300_00}


def test_hire_purchase_takes_its_deposit_at_the_start_and_its_fees_with_the_first_payment() -> None:
    flow = one(PURCHASE).flow
    assert flow.months[:3] == (850_00, 236_00 + 95_00, 236_00)
    assert (flow.parts["deposit"], flow.parts["fees"], flow.parts["payments"]) == (850_00, 95_00, 33 * 236_00)


# The first of March 2027 and four weeks are the 29th of March, and eight the 26th of April: both lie in their month.
# Thirteen weeks are the 31st of May.
def test_a_week_is_paid_in_the_month_in_which_it_ends() -> None:
    weeks = [round(pence / 142_50) for pence in one(bare(RENTAL), months=3).flow.months]
    assert weeks == [0, 4, 4, 5]


# From the first of February the thirteenth week ends on the third of May, after the third month.
def test_the_last_week_of_a_short_quarter_is_paid_with_its_last_month() -> None:
    flow = one(bare(RENTAL), months=3, starts_on=date(2027, 2, 1)).flow
    assert [round(pence / 142_50) for pence in flow.months] == [0, 4, 4, 5]


@pytest.mark.parametrize(("months", "weeks"), [(1, 4), (2, 8), (7, 30), (12, 52), (24, 104), (33, 143)])
def test_a_month_counts_52_weeks_to_the_year(months: int, weeks: int) -> None:
    assert one(bare(RENTAL), months=months).flow.parts["payments"] == weeks * 142_50


def test_hire_that_renews_pays_its_deposit_as_a_term_ends_and_its_fees_with_the_next_payment() -> None:
    hire = HIRE._replace(payments=14)
    flow = one(bare(hire)).flow
    assert flow.parts["payments"] == 33 * 268_00
    assert (flow.parts["deposit"], flow.parts["fees"]) == (3 * 804_00, 3 * 120_00)
    deposits = [month for month, pence in enumerate(flow.months) if pence in (804_00, 268_00 + 804_00)]
    assert deposits == [0, 14, 28]
    assert [month for month, pence in enumerate(flow.months[:33]) if pence == 268_00 + 120_00] == [1, 15, 29]


def test_a_term_that_ends_as_one_leaves_is_not_renewed() -> None:
    assert one(bare(HIRE), months=27).flow.parts["deposit"] == 804_00
    assert one(bare(HIRE), months=28).flow.parts["deposit"] == 2 * 804_00


# 26 weeks from the first of March are the 30th of August, in month 6; week 27 ends on the sixth of September.
def test_weekly_hire_that_renews_does_so_in_the_month_of_its_last_week() -> None:
    hire = RENTAL._replace(payments=26, then="renew", deposit=200_00, fees=30_00)
    flow = one(bare(hire), months=7).flow
    extra = [pence % 142_50 for pence in flow.months[:7]]
    assert extra == [200_00 % 142_50, 30_00, 0, 0, 0, 0, 200_00 % 142_50]
    assert (flow.parts["deposit"], flow.parts["fees"]) == (400_00, 60_00)


def test_hire_that_rolls_on_pays_no_deposit_and_no_fees_again() -> None:
    for hire in (RENTAL._replace(payments=26, deposit=200_00, fees=30_00), HIRE._replace(payments=14, then="rolls")):
        parts = one(bare(hire)).flow.parts
        assert (parts["deposit"], parts["fees"]) == (hire.deposit, hire.fees)
        assert parts["payments"] == (143 if hire.frequency == "week" else 33) * hire.payment


@pytest.mark.parametrize("offer", [PURCHASE, PCP])
def test_credit_past_its_term_has_paid_its_final_payment_with_the_last(offer: Offer) -> None:
    flow = one(bare(offer._replace(payments=30, at_end=None))).flow
    assert flow.parts["payments"] == 30 * offer.payment
    assert flow.months[30] == offer.payment + offer.final_payment
    assert flow.months[31:33] == (0, 0)
    assert flow.parts["value_back"] == -(offer.value_at_horizon or 0)


def test_hire_purchase_that_ends_as_one_leaves_is_paid_off_and_sold() -> None:
    flow = one(bare(PURCHASE._replace(payments=33))).flow
    assert flow.months[33] == 236_00 + 10_00 - 5_100_00


def test_credit_inside_its_term_has_not_made_its_final_payment() -> None:
    assert "final_payment" not in one(bare(PURCHASE)).flow.parts


# Weeks 4 to 6 end on the 29th of March, and the 5th and 12th of April.
def test_weekly_payments_stop_in_the_weeks_off_of_an_offer_that_pauses() -> None:
    ill = WhatIf("Ill", off=WeeksOff(4, 3))
    for pauses, weeks in ((True, [0, 3, 2, 5]), (False, [0, 4, 4, 5])):
        [found] = worked_out(case(bare(RENTAL)._replace(pauses_when_off=pauses), months=3), what_if=ill)
        assert [round(pence / 142_50) for pence in found.flow.months] == weeks


# 268.00 x 6 x 12/52 is 371.076...; of weeks 3 to 8 two lie inside a month of four: 268.00 x 2 x 12/52 is 123.692...
@pytest.mark.parametrize(("months", "from_week", "paused"), [(24, 20, 371_08), (1, 3, 123_69), (24, 105, 0)])
def test_monthly_payments_pause_by_the_week_at_the_end(months: int, from_week: int, paused: int) -> None:
    ill, hire = WhatIf("Ill", off=WeeksOff(from_week, 6)), bare(HIRE)._replace(pauses_when_off=True)
    [found] = worked_out(case(hire, months=months), what_if=ill)
    assert found.flow.parts["payments"] == months * 268_00 - paused
    assert found.flow.months[:months] == one(bare(HIRE), months=months).flow.months[:months]


def test_deposits_that_come_back_do_so_as_one_leaves_and_in_no_way_s_amount() -> None:
    hire = bare(HIRE)._replace(deposit_comes_back=True)
    kept, back = one(hire._replace(deposit_comes_back=False)), one(hire)
    assert back.flow.parts["deposit_back"] == -2 * 804_00
    assert back.flow.months[33] == kept.flow.months[33] - 2 * 804_00
    assert back.ways_out == kept.ways_out


def test_what_costs_nothing_is_no_part() -> None:
    assert one(bare(RENTAL)).flow.parts.keys() == {"payments"}
    assert one(bare(RENTAL)._replace(payment=0)).flow.parts == {}
