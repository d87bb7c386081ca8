"""The steps of an offer."""

import pytest
from django.test import Client
from django.urls import reverse

from costing.models import Comparison, Offer
from instructors.models import Member
from tests.costing.comparison_pages import PCP_MONEY, comparison_of, rental
from tests.costing.pages import input_value, shown, text_of
from tests.factories import OfferFactory

pytestmark = pytest.mark.usefixtures("today")


def address(offer: Offer, step: str) -> str:
    return reverse("costing:offer-terms", args=[offer.pk, step])


@pytest.fixture
def comparison(keeper: Member) -> Comparison:
    return comparison_of(keeper)


@pytest.fixture
def pcp(comparison: Comparison) -> Offer:
    """An offer just begun."""
    return OfferFactory.create(comparison=comparison, kind="pcp", name="Hatchback", terms={}, is_complete=False)


def test_step_by_step_an_offer_becomes_complete(everyone: dict[str, Client], pcp: Offer) -> None:
    steps = {
        "car": {"name": "Three-year-old hatchback", "first_registered": "2023-01-10"},
        "money": PCP_MONEY,
        "end": {
            "at_end": "sell",
            "value_at_horizon": "6,900",
            "mileage_allowance": "10,000",
            "excess_pence_per_mile": "9",
        },
        "included": {"includes": ["fit_out"]},
    }
    complete, nexts = [], []
    for step, typed in steps.items():
        response = everyone["keeper"].post(address(pcp, step), typed)
        assert response.status_code == 303, step
        pcp.refresh_from_db()
        complete.append(pcp.is_complete)
        nexts.append(response.url)
    assert complete == [False, True, True, True]
    assert nexts == [
        *(address(pcp, step) for step in ("money", "end", "included")),
        reverse("costing:comparison", args=[pcp.comparison_id]),
    ]
    assert pcp.name == "Three-year-old hatchback"
    assert pcp.terms == {
        "first_registered": "2023-01-10",
        "price": "11800.00",
        "deposit": "1200.00",
        "payment": "189.00",
        "payments": 36,
        "frequency": "month",
        "final_payment": "5400.00",
        "quoted_apr": "11.90",
        "at_end": "sell",
        "value_at_horizon": "6900.00",
        "mileage_allowance": 10_000,
        "excess_pence_per_mile": "9.00",
        "includes": ["fit_out"],
    }


@pytest.mark.parametrize(
    ("kind", "asked", "not_asked"),
    [
        ("owned", "price", "payment"),
        ("hire_purchase", "final_payment", "includes"),
        ("contract_hire", "payment", "price"),
        ("weekly_rental", "payments", "quoted_apr"),
    ],
)
def test_a_kind_is_asked_only_for_what_it_has(
    everyone: dict[str, Client], comparison: Comparison, kind: str, asked: str, not_asked: str
) -> None:
    offer = OfferFactory.create(comparison=comparison, kind=kind)
    page = everyone["keeper"].get(address(offer, "money")).content.decode()
    assert f'name="{asked}"' in page
    assert f'name="{not_asked}"' not in page


def test_progress_is_told_and_what_was_kept_is_filled_in(everyone: dict[str, Client], comparison: Comparison) -> None:
    rule = {"kind": "share_of_remaining", "value": "0.5"}
    offer = rental(comparison, terms={"payment": "129.00", "payments": 104, "early_exit": rule})
    assert "2 of 4" in shown(everyone["keeper"], address(offer, "money"))
    page = everyone["keeper"].get(address(offer, "end")).content.decode()
    assert input_value(page, "early_exit_value") == "50"


def test_the_miles_planned_stand_beside_the_allowance_with_the_cost_of_the_excess(
    everyone: dict[str, Client], comparison: Comparison
) -> None:
    offer = rental(comparison)
    end = {"mileage_allowance": "10,000", "excess_pence_per_mile": "9.5"}
    response = everyone["keeper"].post(address(offer, "end"), end, follow=True)
    # 14,000 miles at 9.5p.
    words = "You plan 24,000 miles a year; 10,000 are allowed. At 9.5p each, the other 14,000 cost £1,330.00 a year."
    assert words in text_of(response)
    assert words in shown(everyone["keeper"], address(offer, "end"))


def test_the_miles_of_a_pcp_cost_only_who_hands_it_back(everyone: dict[str, Client], pcp: Offer) -> None:
    pcp.terms = {"mileage_allowance": "10000", "excess_pence_per_mile": "9"}
    pcp.save()
    assert "At 9p each, the other 14,000 cost £1,260.00 a year if you hand it back." in shown(
        everyone["keeper"], address(pcp, "end")
    )


@pytest.mark.parametrize(
    ("terms", "words"),
    [
        ({"mileage_allowance": 24_000}, "24,000 are allowed, so there are no extra miles to pay for."),
        ({"mileage_allowance": 23_000}, "That is 1,000 too many, and you haven’t filled in what each costs."),
    ],
)
def test_what_is_not_known_of_the_excess_is_said(
    everyone: dict[str, Client], comparison: Comparison, terms: dict[str, int], words: str
) -> None:
    assert words in shown(everyone["keeper"], address(rental(comparison, terms=terms), "end"))


def test_an_early_exit_is_kept_as_the_documents_rule(everyone: dict[str, Client], comparison: Comparison) -> None:
    offer = rental(comparison)
    for kind, value, kept in (("weeks", "8", "8.00"), ("share_of_remaining", "50", "0.50")):
        everyone["keeper"].post(address(offer, "end"), {"early_exit_kind": kind, "early_exit_value": value})
        offer.refresh_from_db()
        assert offer.terms["early_exit"] == {"kind": kind, "value": kept}
    everyone["keeper"].post(address(offer, "end"), {"early_exit_kind": ""})
    offer.refresh_from_db()
    assert "early_exit" not in offer.terms
    assert offer.terms["payment"] == "129.00"


@pytest.mark.parametrize(
    ("kind", "step", "typed", "field", "words"),
    [
        ("pcp", "money", PCP_MONEY | {"payment": ""}, "payment", "Fill this in"),
        (
            "pcp",
            "money",
            PCP_MONEY | {"payment": "0"},
            "payment",
            "This is less than £1: it must be between £1 and £9,999,999.99.",
        ),
        ("pcp", "money", PCP_MONEY | {"deposit": "11,800"}, "deposit", "This leaves nothing to borrow"),
        (
            "pcp",
            "money",
            PCP_MONEY | {"payments": "521"},
            "payments",
            "This is more than 520: it must be between 1 and 520.",
        ),
        ("pcp", "car", {"name": ""}, "name", "Fill this in"),
        ("pcp", "car", {"name": "A", "first_registered": "2026-03-17"}, "first_registered", "has not come yet"),
        ("weekly_rental", "end", {"early_exit_kind": "weeks"}, "early_exit_value", "Fill in how many."),
        (
            "weekly_rental",
            "end",
            {"early_exit_kind": "share_of_remaining", "early_exit_value": "101"},
            "early_exit_value",
            "A share must be between 0 and 100 %.",
        ),
    ],
)
def test_what_cannot_be_is_refused_beside_its_field(
    everyone: dict[str, Client],
    comparison: Comparison,
    kind: str,
    step: str,
    typed: dict[str, str],
    field: str,
    words: str,
) -> None:
    offer = OfferFactory.create(comparison=comparison, kind=kind, terms={}, is_complete=False)
    response = everyone["keeper"].post(address(offer, step), typed)
    assert words in text_of(response)
    assert f'id="id_{field}_error"' in response.content.decode()
    offer.refresh_from_db()
    assert offer.terms == {}


def test_a_car_cannot_be_handed_back_before_the_comparison_ends(
    everyone: dict[str, Client], comparison: Comparison
) -> None:
    terms = {"price": "11800", "payment": "189", "payments": 12}
    offer = OfferFactory.create(comparison=comparison, kind="pcp", terms=terms)
    response = everyone["keeper"].post(address(offer, "end"), {"at_end": "hand_back"})
    assert "leaves no car for the rest of the 24 months" in text_of(response)
    offer.refresh_from_db()
    assert "at_end" not in offer.terms


def test_a_new_name_takes_its_uncertainty_along_and_is_taken_once(
    everyone: dict[str, Client], comparison: Comparison
) -> None:
    comparison.uncertain = [{"input": "damage", "low": "0", "likely": "1", "high": "2", "offer": "Weekly rental"}]
    comparison.save()
    offer, other = rental(comparison), rental(comparison, name="Other rental")
    everyone["keeper"].post(address(offer, "car"), {"name": "All in"})
    comparison.refresh_from_db()
    assert comparison.uncertain[0]["offer"] == "All in"
    response = everyone["keeper"].post(address(other, "car"), {"name": "All in"})
    assert "You have another offer of this name here." in text_of(response)


def test_the_terms_of_an_offer_taken_up_stay(everyone: dict[str, Client], comparison: Comparison) -> None:
    offer = rental(comparison, chosen_on="2026-03-02")
    response = everyone["keeper"].post(address(offer, "money"), {"payment": "1", "payments": "2", "frequency": "week"})
    assert "You accepted this offer, so its terms are kept as they were." in text_of(response)
    offer.refresh_from_db()
    assert offer.terms["payment"] == "129.00"


def test_the_miles_planned_are_told_before_an_allowance_is(everyone: dict[str, Client], pcp: Offer) -> None:
    assert "You plan 24,000. Leave it empty if there is no limit." in shown(everyone["keeper"], address(pcp, "end"))


def test_a_rental_that_rolls_on_is_told_how_many_payments_that_makes(
    everyone: dict[str, Client], comparison: Comparison, pcp: Offer
) -> None:
    words = "If it simply rolls on, put 104: the weeks in 24 months."
    assert words in shown(everyone["keeper"], address(rental(comparison), "money"))
    assert "rolls on" not in shown(everyone["keeper"], address(pcp, "money"))
    comparison.use = {}
    comparison.save()
    assert "rolls on" not in shown(everyone["keeper"], address(rental(comparison, name="Other"), "money"))


@pytest.mark.parametrize(("kind", "is_offered"), [("weekly_rental", True), ("contract_hire", True), ("pcp", False)])
def test_all_but_fuel_is_chosen_at_once_where_a_car_is_hired(
    everyone: dict[str, Client], comparison: Comparison, kind: str, is_offered: bool
) -> None:
    offer = OfferFactory.create(comparison=comparison, kind=kind, terms={"price": "9000.00"} if kind == "pcp" else {})
    page = shown(everyone["keeper"], address(offer, "included"))
    assert ("All of these except fuel" in page) is is_offered
    everyone["keeper"].post(address(offer, "included"), {"includes": ["all_but_fuel"]})
    offer.refresh_from_db()
    every_other = ["insurance", "vehicle_tax", "breakdown", "mot", "servicing", "repairs", "tyres", "fit_out"]
    assert offer.terms.get("includes", []) == (every_other if is_offered else [])


def test_a_step_that_is_none_is_not_found(everyone: dict[str, Client], pcp: Offer) -> None:
    assert everyone["keeper"].get(address(pcp, "colour")).status_code == 404


def test_nobody_else_finds_it(everyone: dict[str, Client], pcp: Offer) -> None:
    for who in ("colleague", "coordinator", "stranger"):
        assert everyone[who].get(address(pcp, "money")).status_code == 404, who
        assert everyone[who].post(address(pcp, "money"), PCP_MONEY).status_code == 404, who
    pcp.refresh_from_db()
    assert pcp.terms == {}
