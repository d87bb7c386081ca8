"""The migration that carries comparisons of the first rules over to the present ones."""

from datetime import date
from importlib import import_module
from typing import Any

import pytest
from django.apps import apps

from costing.choosing.services.stored import case_of, stored_of
from costing.models import Comparison, Offer
from tests.costing.offered import add_offers
from tests.factories import ComparisonFactory, OfferFactory

carry_over = import_module("costing.migrations.0012_comparisons_are_read_by_the_new_rules").carry_over

pytestmark = pytest.mark.django_db

RUNNING = {"insurance": ["1140.00", "985.00"], "repairs_per_year": "430.00", "tyre_set": "336.00", "fit_out": "465"}
PCP = {
    "first_registered": "2025-05-10",
    "price": "13450.00",
    "deposit": "1650.00",
    "payment": "214.00",
    "payments": 42,
    "final_payment": "6100.00",
    "quoted_apr": "10.5",
    "value_at_horizon": "7600.00",
    "mileage_allowance": "12000",
    "excess_pence_per_mile": "8.5",
}
RENTAL = {
    "payment": "141.00",
    "payments": 65,
    "frequency": "week",
    "damage": "320.00",
    "includes": ["insurance", "mot"],
    "early_exit": {"kind": "weeks", "value": "8"},
}
HIRE = {"deposit": "1020.00", "payment": "318.00", "payments": 36, "excess_pence_per_mile": "7", "includes": ["mot"]}
OWNED = {"price": "8900.00", "value_at_horizon": "5350.00"}
LOAN = {"price": "33500.00", "deposit": "3000.00", "payment": "712.00", "payments": 48, "value_at_horizon": "18200.00"}


def carried(**changes: Any) -> Offer:
    offer = OfferFactory.create(**changes)
    carry_over(apps, None)
    offer.refresh_from_db()
    return offer


def test_a_whole_comparison_of_every_kind_reads_without_a_fault_and_with_the_same_figures() -> None:
    comparison = ComparisonFactory.create(
        running=RUNNING,
        sources=dict.fromkeys(RUNNING, "typed in"),
        what_ifs=[{"name": "Ill", "weeks_off": {"from_week": 12, "weeks": 5}, "more_miles": "0.1"}],
        uncertain=[
            {"input": "repairs_per_year", "low": "150", "likely": "400.00", "high": "1400.00"},
            {"input": "value_at_horizon", "low": "4000.005", "likely": "6000", "high": "7500"},
            {"input": "months", "low": "18", "likely": "24", "high": "30"},
        ],
    )
    kinds = {"pcp": PCP, "weekly_rental": RENTAL, "contract_hire": HIRE, "owned": OWNED, "hire_purchase": LOAN}
    add_offers(comparison, *((kind, kind, terms) for kind, terms in kinds.items()))
    carry_over(apps, None)
    comparison.refresh_from_db()

    stored = stored_of(comparison)
    assert (stored.left_out, stored.faults) == ({}, [])
    case = case_of(comparison)
    assert (case.running.insurance, case.running.tyre_set_miles) == ((1_140_00, 985_00), 25_000)
    assert comparison.sources["tyre_set_miles"] == "what comparisons used to take for a set of tyres"
    pcp, rented, hired, owned, loan = case.offers
    assert (pcp.at_end, pcp.final_payment, pcp.damage) == ("sell", 6_100_00, None)
    assert (rented.damage, rented.early_exit, hired.deposit) == (320_00, ("weeks", 8), 1_020_00)
    assert (owned.value_at_horizon, loan.value_at_horizon) == (5_350_00, 18_200_00)
    of_value = [one for one in case.uncertain if one.input == "value_at_horizon"]
    assert [(one.offer, one.spreads[0].low) for one in of_value] == [
        ("pcp", 4_000_01),
        ("owned", 4_000_01),
        ("hire_purchase", 4_000_01),
    ]
    carry_over(apps, None)
    assert case_of(Comparison.objects.get()) == case


@pytest.mark.parametrize(
    ("kind", "terms", "goes"),
    [
        ("owned", OWNED | {"payment": "0.00", "at_end": "keep", "frequency": "month", "damage": "0"}, OWNED),
        ("hire_purchase", LOAN | {"at_end": "sell", "pauses_when_off": False}, LOAN),
        ("contract_hire", HIRE | {"at_end": "hand_back", "price": "0", "quoted_apr": "0"}, HIRE),
        ("weekly_rental", RENTAL | {"value_at_horizon": "0.00", "final_payment": "0.00"}, RENTAL),
        ("pcp", PCP | {"at_end": "keep", "early_exit": {"kind": "weeks", "value": "0"}}, PCP | {"at_end": "keep"}),
    ],
)
def test_keys_that_a_kind_has_no_use_for_go(kind: str, terms: dict[str, Any], goes: dict[str, Any]) -> None:
    offer = carried(kind=kind, terms=terms)
    assert offer.terms == goes
    assert stored_of(offer.comparison).left_out == {}


def test_nothing_that_stood_for_not_filled_in_is_not_told() -> None:
    running = {"fuel_pence_per_mile": "0", "tyre_set": "0.00", "insurance": ["0.00"], "fit_out": "0.00"}
    comparison = ComparisonFactory.create(running=running, sources=dict.fromkeys(running, "typed in"))
    offer = carried(comparison=comparison, kind="owned", terms={"price": "9500.00", "value_at_horizon": "0.00"})
    hired = carried(comparison=comparison, kind="contract_hire", terms=HIRE | {"excess_pence_per_mile": "0"})

    assert offer.terms == {"price": "9500.00"}
    assert "excess_pence_per_mile" not in hired.terms
    comparison.refresh_from_db()
    # Nothing to pay is what a member may well have meant of these two.
    assert comparison.running == {"insurance": ["0.00"], "fit_out": "0.00"}
    assert comparison.sources.keys() == comparison.running.keys()
    assert case_of(comparison).running.fuel is None


def test_what_cannot_be_read_stays_as_it_was_typed() -> None:
    terms = {"price": "a lot", "value_at_horizon": None, "first_registered": "1e999", "deposit": "1e99999999"}
    offer = carried(kind="hire_purchase", terms=terms)
    assert offer.terms == terms
    assert stored_of(offer.comparison).left_out[offer.pk].keys() >= {"price", "value_at_horizon", "first_registered"}


def test_a_pcp_without_a_final_payment_is_asked_for_it_unless_it_was_accepted() -> None:
    terms = {key: value for key, value in PCP.items() if key != "final_payment"} | {"payment": "389.00"}
    asked = carried(kind="pcp", terms=terms)
    assert stored_of(asked.comparison).left_out == {asked.pk: {"final_payment": "is missing: a PCP needs it"}}

    kept = carried(kind="pcp", terms=terms, chosen_on=date(2026, 3, 1))
    assert stored_of(kept.comparison).left_out == {}


def test_ranges_find_the_offers_that_they_were_meant_for() -> None:
    bounds = {"low": "1", "likely": "2", "high": "3"}
    comparison = ComparisonFactory.create(
        running={},
        uncertain=[
            {"input": "payment", **bounds},
            {"input": "payment", "offer": "Van", "low": "2", "likely": "2", "high": "9"},
            {"input": "damage", "offer": "Owned", **bounds},
            {"input": "fuel_pence_per_mile", **bounds},
            {"input": "miles_per_year", "offer": "", **bounds},
            {"input": "weeks_off", "low": "none", "likely": "2", "high": "3"},
        ],
    )
    owned = ("owned", "Owned", OWNED)
    add_offers(
        comparison, owned, ("weekly_rental", "Rent", RENTAL), ("contract_hire", "Van", HIRE), ("pcp", "PCP", PCP)
    )
    carry_over(apps, None)
    comparison.refresh_from_db()
    pounds = {"low": "1.00", "likely": "2.00", "high": "3.00"}
    assert comparison.uncertain == [
        {"input": "payment", "offer": "Rent", **pounds},
        {"input": "payment", "offer": "Van", "low": "2.00", "likely": "2.00", "high": "9.00"},
        {"input": "miles_per_year", **bounds},
        {"input": "weeks_off", "low": "none", "likely": "2", "high": "3"},
    ]


@pytest.mark.parametrize("damaged", ["x", 3, True, ["x"], [None], [{"input": ["price"]}]])
def test_a_column_that_holds_no_table_stays_as_it_was_and_stops_nothing(damaged: Any) -> None:
    for column in ("running", "sources", "uncertain"):
        ComparisonFactory.create(**{column: damaged})
    offer = carried(terms=damaged)
    assert offer.terms == damaged
    assert Comparison.objects.filter(uncertain=damaged).exists()
