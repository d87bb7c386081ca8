"""The page of an offer that is there already."""

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from costing.models import Comparison, Offer
from instructors.models import Member
from tests.costing.comparison_pages import PCP, RENTAL, comparison_of, rental
from tests.costing.pages import input_value, shown, text_of
from tests.factories import GroupFigureFactory, OfferFactory

TERMS = {
    "price": "12640.00",
    "deposit": "1850.00",
    "payment": "214.37",
    "payments": 41,
    "frequency": "month",
    "final_payment": "4975.00",
    "mileage_allowance": 14_000,
    "excess_pence_per_mile": "8.5",
}

pytestmark = pytest.mark.usefixtures("today")


def address(offer: Offer) -> str:
    return reverse("costing:offer-terms", args=[offer.pk])


@pytest.fixture
def comparison(keeper: Member) -> Comparison:
    return comparison_of(keeper, running={})


@pytest.fixture
def pcp(comparison: Comparison) -> Offer:
    return OfferFactory.create(comparison=comparison, kind="pcp", name="Small estate on PCP", terms=TERMS)


def test_what_was_kept_is_filled_in(everyone: dict[str, Client], comparison: Comparison) -> None:
    rule = {"kind": "share_of_remaining", "value": "0.5"}
    spread = {"low": "0.00", "likely": "150.00", "high": "600.00"}
    told = {"payment": "129.00", "payments": 104, "frequency": "week", "early_exit": rule, "damage": spread}
    page = everyone["keeper"].get(address(rental(comparison, terms=told))).content.decode()
    names = ("payment", "payments", "early_exit_value", "damage", "damage_low", "damage_high")
    assert [input_value(page, name) for name in names] == ["129.00", "104", "50", "150.00", "0.00", "600.00"]
    assert "early exit" in text_of(everyone["keeper"].get(address(Offer.objects.get())))


def test_sent_back_as_it_was_it_stays_as_it_was(everyone: dict[str, Client], comparison: Comparison) -> None:
    """Ranges, rules and what the page can't show come back untouched."""
    terms: dict[str, Any] = TERMS | {
        "value_at_horizon": {"low": "5200.00", "likely": "6900.00", "high": "7800.00"},
        "half_rule": False,
        "includes": ["breakdown", "mot"],
        "running": {
            "fuel": [
                {"mpg": 55, "pence_per_litre": "148.9", "share": "0.4"},
                {"miles_per_kwh": "3.6", "pence_per_kwh": 31, "share": "0.6"},
            ],
            "insurance": ["1140.00", "985.00", "720.00", "700.00"],
            "insurance_given_back": "0.5",
        },
    }
    sources = {"fuel": "typed in", "insurance": "from the file", "insurance_given_back": "typed in"}
    offer = OfferFactory.create(
        comparison=comparison, kind="pcp", name="A", terms=terms, burns="plugin_hybrid", sources=sources
    )
    form = everyone["keeper"].get(address(offer)).context["form"]
    sent = {
        field.html_name: value
        for field in form
        if (value := field.field.prepare_value(field.value())) not in (None, "", False)
    }
    sent |= {"kind": "pcp", "proposed_for": "plugin_hybrid", "half_rule": "no"}
    response = everyone["keeper"].post(address(offer), sent)
    assert response.status_code == 303, text_of(response)
    offer.refresh_from_db()
    assert offer.terms == terms | {"on_leaving": "cheapest"}
    assert offer.sources == sources


def test_its_kind_may_change(everyone: dict[str, Client], pcp: Offer) -> None:
    everyone["keeper"].post(address(pcp), RENTAL)
    pcp.refresh_from_db()
    assert (pcp.kind, pcp.name) == ("weekly_rental", "Weekly rental, all in")
    assert "price" not in pcp.terms


def test_what_is_missing_is_asked_in_its_row(everyone: dict[str, Client], comparison: Comparison) -> None:
    offer = OfferFactory.create(comparison=comparison, kind="pcp", name="Half told", terms={"deposit": "500.00"})
    text = shown(everyone["keeper"], address(offer))
    assert text.count("Without it this offer can’t be compared yet.") == 4


def test_what_the_horizon_forbids_is_said_in_its_row(everyone: dict[str, Client], comparison: Comparison) -> None:
    told = TERMS | {"payments": 24, "payment": "400.00", "at_end": "hand_back"}
    offer = OfferFactory.create(comparison=comparison, kind="pcp", terms=told)
    comparison.use = comparison.use | {"months": 36}
    comparison.save()
    assert "leaves no car for the rest of the 36 months" in shown(everyone["keeper"], address(offer))


def test_the_miles_planned_stand_beside_the_allowance_with_the_cost_of_the_excess(
    everyone: dict[str, Client], pcp: Offer
) -> None:
    # 10,000 miles at 8.5p.
    words = "You plan 24,000. At 8.5p each, the other 10,000 cost £850.00 a year if it goes back."
    assert words in shown(everyone["keeper"], address(pcp))


@pytest.mark.parametrize(
    ("terms", "words"),
    [
        ({}, "You plan 24,000. Leave it empty if there is no limit."),
        ({"mileage_allowance": 24_000}, "You plan 24,000, so there are no extra miles to pay for."),
        ({"mileage_allowance": 23_000}, "That is 1,000 too many, and what each costs isn’t told."),
        ({"mileage_allowance": 23_000, "excess_pence_per_mile": "9"}, "the other 1,000 cost £90.00 a year."),
    ],
)
def test_what_is_not_known_of_the_excess_is_said(
    everyone: dict[str, Client], comparison: Comparison, terms: dict[str, Any], words: str
) -> None:
    assert words in shown(everyone["keeper"], address(rental(comparison, terms=terms)))


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("pcp", "By the half rule you may hand the car back once half of the total price is paid"),
        ("contract_hire", "What leaving inside the term costs stands in the contract."),
    ],
)
def test_leaving_is_cautioned_as_the_kind_wants_it(
    everyone: dict[str, Client], comparison: Comparison, kind: str, words: str
) -> None:
    offer = OfferFactory.create(comparison=comparison, kind=kind, terms={})
    assert words in shown(everyone["keeper"], address(offer))


def test_an_owned_car_leaves_nothing_to_ask_about_leaving(everyone: dict[str, Client], comparison: Comparison) -> None:
    page = everyone["keeper"].get(address(OfferFactory.create(comparison=comparison))).content.decode()
    assert 'id="leaving"' not in page
    assert 'id="car"' in page


def test_a_range_follows_its_offer_to_a_new_name(everyone: dict[str, Client], keeper: Member) -> None:
    row = {"input": "damage", "low": "0", "likely": "1", "high": "2"}
    comparison = comparison_of(keeper, uncertain=[row | {"offer": "Weekly rental"}, row])
    everyone["keeper"].post(address(rental(comparison)), RENTAL | {"name": "Renamed"})
    comparison.refresh_from_db()
    assert [one.get("offer") for one in comparison.uncertain] == ["Renamed", None]


def test_a_fuel_told_later_brings_its_figures_and_another_one_takes_them_away(
    everyone: dict[str, Client], pcp: Offer
) -> None:
    GroupFigureFactory.create(
        span="year", fuel_pence_per_mile_petrol="14.50", fuel_pence_per_mile_diesel="12.00", servicing_per_year="250"
    )
    response = everyone["keeper"].post(address(pcp), PCP | {"burns": "petrol"}, follow=True)
    where = f"in offer {pcp.letter}, under “What this car costs to run”"
    assert f"Filled in for you: fuel, the MOT, servicing. Look them over {where}." in text_of(response)
    pcp.refresh_from_db()
    assert pcp.terms["running"] == {
        "fuel_pence_per_mile": "14.5",
        "mot": "54.85",
        "servicing_per_year": "250.00",
    }
    # Sent from the page as it then stands, but with another fuel; servicing was looked over and changed.
    told = {"fuel_pence_per_mile": "14.5", "mot": "54.85", "servicing_per_year": "260"}
    everyone["keeper"].post(address(pcp), PCP | told | {"burns": "diesel", "proposed_for": "petrol"})
    pcp.refresh_from_db()
    assert pcp.terms["running"] == {"fuel_pence_per_mile": 12, "mot": "54.85", "servicing_per_year": "260.00"}
    assert pcp.sources["servicing_per_year"] == "typed in"
    assert pcp.sources["fuel_pence_per_mile"] == "the group’s rounded median, March 2025 to February 2026"


def test_an_accepted_offer_is_kept_as_it_was(everyone: dict[str, Client], comparison: Comparison) -> None:
    offer = rental(comparison, chosen_on="2026-03-02")
    assert "You accepted this offer" in text_of(everyone["keeper"].post(address(offer), RENTAL))
    before = offer.terms
    offer.refresh_from_db()
    assert offer.terms == before


def test_nobody_else_finds_it(everyone: dict[str, Client], pcp: Offer) -> None:
    for who in ("colleague", "coordinator", "stranger"):
        assert everyone[who].get(address(pcp)).status_code == 404, who
        assert everyone[who].post(address(pcp), PCP | {"name": "Mine"}).status_code == 404, who
    pcp.refresh_from_db()
    assert pcp.name == "Small estate on PCP"
