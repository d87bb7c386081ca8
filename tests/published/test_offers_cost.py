"""Whole costs, settlements and charges by the mile of the reference facts, as offers state them.

Sections 7, 8, 9 and 15 of those: each example is arithmetic from stated inputs (C) unless it says otherwise.
"""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from costing.choosing.core.figures import Figures
from costing.choosing.core.figures import figures as figures_of
from costing.choosing.document.tables import case_made_of, read_tables
from costing.core.catalogue.running import RUNNING_PARTS

USE = {
    "starts_on": date(2027, 1, 1), "months": 48, "miles_per_year": 20_000, "private_miles_per_year": 0,
    "lesson_hours_per_week": 25, "weeks_taught_per_year": 44, "lesson_hour_price": 38,
}  # fmt: skip


def figures(offer: dict[str, Any], running: dict[str, Any] | None = None, **use: Any) -> Figures:
    """The figures of one offer, which includes whatever ``running`` doesn't tell."""
    told = running or {}
    included = [part.name for part in RUNNING_PARTS.values() if part.key not in told]
    made = {"name": "An offer", "includes": included} | offer
    case = case_made_of(read_tables({"use": USE | use, "running": told, "offer": [made]}), "GB")
    return figures_of(case, case.offers[0])


# H8-E5 and E7: the actuarial settlement of SI 2004/1483 (V) with no deferment, as facts H8-10 gives it. E6 and the
# deferred figure of E5 (8,402.41) put it off by a month, which these offers do not.
@pytest.mark.parametrize(
    ("price", "payment", "payments", "months", "settlement"),
    [(12_000, "380.00", 36, 12, 834_184), (10_000, "222.44", 60, 24, 669_720)],
    ids=["H8-E5", "H8-E7"],
)
def test_settlement_is_what_the_payments_to_come_are_worth(
    price: int, payment: str, payments: int, months: int, settlement: int
) -> None:
    offer = {"kind": "hire_purchase", "price": price, "payment": Decimal(payment), "payments": payments}

    left = figures(offer | {"on_leaving": "settle"}, months=months).flow
    assert left.parts["settlement"] == settlement
    # H8-E5: a rebate of 778.16; H8-E7: 1,310.64.
    to_come = (payments - months) * int(Decimal(payment) * 100)
    assert to_come - settlement == {12: 77_816, 24: 131_064}[months]


def test_leaving_early_settles_as_a_shorter_horizon_does() -> None:
    offer = {
        "name": "H8-E5", "kind": "hire_purchase", "price": 12_000, "payment": 380, "payments": 36,
        "on_leaving": "settle",
    }  # fmt: skip
    case = case_made_of(
        read_tables({"use": USE, "offer": [offer], "what_if": [{"name": "Left", "leave_at_month": 12}]}), "GB"
    )

    left = figures_of(case, case.offers[0], what_if=case.what_ifs[0])
    assert left.flow.parts["settlement"] == 834_184


# H8-E1 and E2: the half rule of Consumer Credit Act 1974 s.100(1) (V2). Half of 16,410 is 8,205: after 12 payments
# 1,405.00 is owed, after 16 nothing, and nothing is given back.
@pytest.mark.parametrize(("months", "owed"), [(12, 140_500), (16, 0)], ids=["H8-E1", "H8-E2"])
def test_the_half_rule_asks_for_half_the_total_price(months: int, owed: int) -> None:
    offer = {
        "kind": "hire_purchase", "price": 14_000, "deposit": 2_000, "payment": 400, "payments": 36, "final_payment": 10,
        "damage": 0,
    }  # fmt: skip

    [_, half] = figures(offer, months=months).ways_out
    assert (half.way, half.pence) == ("half_rule", owed)


# H8-E3 and E4: at 25,000.00 of credit the half rule is the law (V); a penny more, and it isn't.
@pytest.mark.parametrize(("price", "applies"), [("25000.00", True), ("25000.01", False)], ids=["H8-E3", "H8-E4"])
def test_the_half_rule_ends_at_25_000_of_credit(price: str, applies: bool) -> None:
    offer = {"kind": "hire_purchase", "price": Decimal(price), "payment": 800, "payments": 36, "damage": 0}

    [_, half] = figures(offer, months=12).ways_out
    assert (half.pence is not None) is applies


# A7-E21: total repayable 18,240.64. Y15-E14: with its deposit of 3,000 the outlay is 21,240.64, and 15,240.64 once
# the car is sold for 6,000.
def test_hire_purchase_paid_to_its_end_and_sold() -> None:
    offer = {
        "kind": "hire_purchase", "price": 18_000, "deposit": 3_000, "payment": Decimal("376.68"), "payments": 48,
        "final_payment": 10, "fees": 150, "value_at_horizon": 6_000,
    }  # fmt: skip

    parts = figures(offer).flow.parts
    assert parts == {
        "deposit": 300_000,
        "payments": 1_808_064,
        "fees": 15_000,
        "final_payment": 1_000,
        "value_back": -600_000,
    }
    assert sum(parts.values()) == 1_524_064


# A7-E23: 25,457.91 repaid in all.
def test_a_pcp_kept_to_its_end_repays_the_total() -> None:
    offer = {
        "kind": "pcp", "price": 19_800, "payment": Decimal("339.53"), "payments": 48,
        "final_payment": Decimal("9160.47"), "at_end": "keep", "value_at_horizon": 0,
    }  # fmt: skip

    assert figures(offer).total == 2_545_791


# Y15-E12: a year of 7,000 in all, 35.00p a mile and 6.36 a lesson hour; interest of 650 and depreciation of 2,600
# are what 10,000 paid and 6,750 fetched leave.
def test_a_year_of_seven_thousand() -> None:
    running = {
        "fuel_pence_per_mile": Decimal("9.5"), "insurance": [900], "vehicle_tax_per_year": 200,
        "servicing_per_year": 450, "tyre_set": 300, "tyre_set_miles": 20_000,
    }  # fmt: skip

    year = figures({"kind": "owned", "price": 10_000, "value_at_horizon": 6_750}, running, months=12)
    assert (year.total, year.per_mile, year.per_lesson_hour) == (700_000, 35, 636)


# Y15-E13: 12,000 over 48 months, 250 a month.
def test_bought_outright_and_sold() -> None:
    owned = figures({"kind": "owned", "price": 18_000, "value_at_horizon": 6_000})

    assert owned.total == 1_200_000
    assert (owned.up_front, owned.flow.months[-1]) == (1_800_000, -600_000)


# Y15-E15: six payments of 310 before 47 of them make 16,430.00, and 4,000 miles above the allowance at 9p 360.00.
# The term is 47 months here: payments fall at the end of each month.
def test_contract_hire_with_an_initial_rental_and_miles_above_the_allowance() -> None:
    offer = {
        "kind": "contract_hire", "deposit": 6 * 310, "payment": 310, "payments": 47,
        "mileage_allowance": 20_000, "excess_pence_per_mile": 9,
    }  # fmt: skip

    hire = figures(offer, months=47, miles_per_year=20_000 + Decimal("1021.276596"))  # 4,000 more in 47 months
    assert hire.flow.parts == {"deposit": 186_000, "payments": 1_457_000, "excess_miles": 36_000}


# Y15-E16: 115 a week for four years of 52 weeks, 23,920.00. B19-6, common practice, no source: two years are 104.
@pytest.mark.parametrize(("months", "weeks"), [(48, 208), (24, 104)])
def test_weekly_rental_counts_52_weeks_to_the_year(months: int, weeks: int) -> None:
    offer = {"kind": "weekly_rental", "payment": 115, "payments": weeks, "frequency": "week", "damage": 0}

    rental = figures(offer, months=months)
    assert rental.total == weeks * 11_500
    assert rental.per_week == 11_500


# V9-E1 (V2, announced policy) and V9-E2: 3p and 1.5p a mile of an electric or plug-in car, 8,000 miles a year. The
# file has no key of its own for it: it goes with the energy by the mile.
@pytest.mark.parametrize(("pence", "charge"), [("3", 24_000), ("1.5", 12_000)], ids=["V9-E1", "V9-E2"])
def test_a_charge_by_the_mile_goes_with_the_fuel(pence: str, charge: int) -> None:
    running = {"fuel_pence_per_mile": Decimal(pence)}

    owned = figures({"kind": "owned", "price": 1}, running, months=12, miles_per_year=8_000)
    assert owned.flow.parts["fuel"] == charge


# B19-9, common practice, no source: over two years one's own used car is said to cost about half of a rented new
# one. The figures must be able to say so, and the opposite.
def test_an_owned_car_can_come_out_at_half_of_a_rental_and_can_come_out_dearer() -> None:
    running = {
        "fuel_pence_per_mile": 0, "insurance": [900, 800], "vehicle_tax_per_year": 195, "mot": Decimal("54.85"),
        "servicing_per_year": 260, "repairs_per_year": 400, "tyre_set": 320, "tyre_set_miles": 25_000, "fit_out": 440,
    }  # fmt: skip
    rental = {
        "kind": "weekly_rental", "payment": 129, "payments": 104, "frequency": "week",
        "includes": [*RUNNING_PARTS], "damage": 0,
    }  # fmt: skip
    rented = figures(rental, running, months=24).total or 0

    used = figures({"kind": "owned", "price": 7_200, "value_at_horizon": 5_000}, running, months=24).total
    assert used == pytest.approx(rented / 2, rel=0.1)
    worn = figures({"kind": "owned", "price": 16_000, "value_at_horizon": 5_000}, running, months=24).total
    assert (worn or 0) > rented > 0
