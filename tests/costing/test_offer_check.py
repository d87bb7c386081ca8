"""The page on which the car of an offer is looked over before signing."""

from datetime import date
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.test import Client
from django.urls import reverse

from costing.choosing.core.look_over import MOST_TESTS, MOST_WORK, POINTS
from costing.choosing.services.stored import save_look_over
from costing.models import Offer
from instructors.models import Member
from tests.costing.pages import input_value, shown, text_of
from tests.factories import CarFactory, ComparisonFactory, OfferFactory

#: Everything that is asked of both alike is told; of the car nothing but its price hangs on anything else.
RUNNING = {
    "fuel_pence_per_mile": "12",
    "insurance": ["900.00"],
    "vehicle_tax_per_year": "200.00",
    "breakdown_per_year": "60.00",
    "mot": "50.00",
    "servicing_per_year": "300.00",
    "repairs_per_year": "500.00",
    "tyre_set": "320.00",
    "tyre_set_miles": "24000",
    "fit_out": "400.00",
}
ALL_IN = {
    "payment": "150.00",
    "payments": 104,
    "frequency": "week",
    "damage": "0.00",
    "includes": ["insurance", "vehicle_tax", "breakdown", "mot", "servicing", "repairs", "tyres", "fit_out"],
}

pytestmark = pytest.mark.usefixtures("today")


@pytest.fixture
def offer(keeper: Member) -> Offer:
    """A used car at £9,500, worth £6,200 after 24 months, beside an all-in rental of £15,600."""
    comparison = ComparisonFactory.create(member=keeper, running=RUNNING)
    OfferFactory.create(comparison=comparison, kind="weekly_rental", name="Rental", terms=ALL_IN)
    return OfferFactory.create(comparison=comparison, name="Used hatchback")


def page_of(offer: Offer) -> str:
    return reverse("costing:offer-check", args=[offer.pk])


def typed(**changes: Any) -> dict[str, Any]:
    """The whole form as a browser sends it, with nothing looked at yet."""
    data: dict[str, Any] = dict.fromkeys(POINTS, "unknown") | {"keepers": ""}
    for at in range(2):
        data |= {f"test_{at}_on": "", f"test_{at}_miles": "", f"test_{at}_advisories": ""}
        data |= {f"work_{at}_words": "", f"work_{at}_pounds": ""}
    return data | changes


def a_test(at: int, on: str, result: str = "passed", miles: str = "", advisories: str = "") -> dict[str, str]:
    return {
        f"test_{at}_on": on,
        f"test_{at}_result": result,
        f"test_{at}_miles": miles,
        f"test_{at}_advisories": advisories,
    }


def test_the_walk_away_price_is_solved_with_the_rest_as_told(everyone: dict[str, Client], offer: Offer) -> None:
    page = shown(everyone["keeper"], page_of(offer))
    # Its running for two years: 900 + 200 + 60 + 50 + 300 + 500 + 320 a year, and 400 of fit-out: 5,060. Fuel both pay.
    # Price + 5,060 - 6,200 must stay below 104 x 150 = 15,600: 16,740, and at that they are even.
    assert "Walk away above £16,730" in page
    assert "The seller asks £9,500, £7,230 below it." in page
    assert "cheaper than every other offer over 24 months. Above it, it is dearer than Rental." in page
    assert "24,000 miles a year, for 24 months. The car fetches £6,200 at the end." in page


def test_the_work_noted_comes_off_the_price_and_into_the_bills(everyone: dict[str, Client], offer: Offer) -> None:
    data = typed(work_0_words="Clutch", work_0_pounds="735.50", work_1_words="Front tyres")
    assert everyone["keeper"].post(page_of(offer), data).status_code == 303
    page = shown(everyone["keeper"], page_of(offer))
    assert "Walk away above £16,000" in page
    assert "The work noted, about £736, has come off the price already." in page
    assert "Clutch: about £735.50." in page
    # 2,880 of fuel, 900 + 200 + 60 + 50 + 300 + 500 + 320, 400 of fit-out, and the clutch; nothing of the tyres.
    assert "Fuel £2,880 Insurance £900" in page
    assert "Clutch £736 What is told £6,346" in page


def test_a_price_above_the_limit_is_too_much(everyone: dict[str, Client], offer: Offer) -> None:
    Offer.objects.filter(pk=offer.pk).update(terms=offer.terms | {"price": "17000.00"})
    assert "The seller asks £17,000, £270 too much." in shown(everyone["keeper"], page_of(offer))


@pytest.mark.parametrize(
    ("running", "words"),
    [
        (
            {key: value for key, value in RUNNING.items() if key != "repairs_per_year"},
            "It hangs on what is not told: repairs.",
        ),
        ({}, "It hangs on what is not told:"),
    ],
)
def test_what_is_not_told_leaves_no_price_and_is_named(
    everyone: dict[str, Client], offer: Offer, running: dict[str, Any], words: str
) -> None:
    offer.comparison.running = running
    offer.comparison.save()
    page = shown(everyone["keeper"], page_of(offer))
    assert "No walk-away price yet" in page
    assert words in page
    assert "Repairs not told" in page


def test_what_would_cost_both_the_same_is_said_aloud(everyone: dict[str, Client], offer: Offer) -> None:
    running = {key: value for key, value in RUNNING.items() if key != "fuel_pence_per_mile"}
    offer.comparison.running = running
    offer.comparison.save()
    page = shown(everyone["keeper"], page_of(offer))
    assert "Walk away above £16,730" in page
    assert "over 24 months, if fuel costs the same for both" in page
    assert "Above it, that is no longer certain beside Rental." in page


def test_where_all_is_told_it_is_simply_dearer_above_the_price(everyone: dict[str, Client], offer: Offer) -> None:
    page = shown(everyone["keeper"], page_of(offer))
    assert "Above it, it is dearer than Rental." in page
    assert "no longer certain" not in page


def test_alone_or_half_told_it_has_no_price(everyone: dict[str, Client], offer: Offer) -> None:
    Offer.objects.get(name="Rental").delete()
    assert "There is no other offer to beat" in shown(everyone["keeper"], page_of(offer))
    Offer.objects.filter(pk=offer.pk).update(terms={})
    page = shown(everyone["keeper"], page_of(offer))
    assert "Something is missing from this offer or from its comparison" in page
    assert "Bills of the first year" not in page


def test_a_half_told_offer_beside_one_that_is_whole_has_no_price(everyone: dict[str, Client], offer: Offer) -> None:
    Offer.objects.filter(pk=offer.pk).update(terms={"value_at_horizon": "6200.00"})
    page = shown(everyone["keeper"], page_of(offer))
    assert "Something is missing from this offer or from its comparison" in page
    assert "Look it over" in page


def test_where_another_is_as_cheap_at_any_price_that_is_said(everyone: dict[str, Client], offer: Offer) -> None:
    Offer.objects.filter(name="Rental").update(terms=ALL_IN | {"payment": "1.00"})
    Offer.objects.filter(pk=offer.pk).update(terms={"price": "9500.00", "value_at_horizon": "0.00"})
    assert "Rental is as cheap, whatever this car’s price" in shown(everyone["keeper"], page_of(offer))


def test_of_credit_the_payments_move_with_the_price(everyone: dict[str, Client], offer: Offer) -> None:
    terms = {
        "price": "9500.00",
        "deposit": "1500.00",
        "payment": "370.00",
        "payments": 24,
        "value_at_horizon": "6200.00",
    }
    Offer.objects.filter(pk=offer.pk).update(kind="hire_purchase", terms=terms)
    page = shown(everyone["keeper"], page_of(offer))
    assert "Walk away above £" in page
    assert "Deposit, fees, rate and number of payments stay as quoted; each payment moves with the price." in page


def test_where_the_work_is_dearer_than_the_car_it_beats_nothing(everyone: dict[str, Client], offer: Offer) -> None:
    everyone["keeper"].post(page_of(offer), typed(work_0_words="Engine", work_0_pounds="16740"))
    assert "With the work noted it does not beat Rental at any price" in shown(everyone["keeper"], page_of(offer))


def test_what_is_answered_no_speaks_against_it_and_the_rest_is_not_looked_at(
    everyone: dict[str, Client], offer: Offer
) -> None:
    page = shown(everyone["keeper"], page_of(offer))
    assert "Nothing is noted yet. That doesn’t mean that nothing is wrong." in page
    assert f"Not looked at yet: {len(POINTS)} of {len(POINTS)}" in page
    everyone["keeper"].post(page_of(offer), typed(closed_roof="no", keys="yes", keepers="3"))
    page = shown(everyone["keeper"], page_of(offer))
    assert "It has no closed roof." in page
    assert "A key is missing" not in page
    assert f"Not looked at yet: {len(POINTS) - 2} of {len(POINTS)}" in page
    assert "3 keepers so far." in page
    assert "A qualified technician’s inspection comes before signing" in page


def test_nothing_ever_says_that_a_car_is_fine(everyone: dict[str, Client], offer: Offer) -> None:
    data = typed(**dict.fromkeys(POINTS, "yes"), **a_test(0, "2026-02-01", miles="40000"))
    everyone["keeper"].post(page_of(offer), data)
    page = shown(everyone["keeper"], page_of(offer))
    assert "That doesn’t mean that nothing is wrong." in page
    assert "Not looked at yet:" not in page


def test_the_mot_history_tells_what_it_shows(everyone: dict[str, Client], offer: Offer) -> None:
    data = typed() | a_test(0, "2024-03-01", miles="48000", advisories="Oil leak\nFront tyre worn") | a_test(
        1, "2025-03-01", "failed", "41000", "Slight oil leak"
    )  # fmt: skip
    everyone["keeper"].post(page_of(offer), data)
    page = shown(everyone["keeper"], page_of(offer))
    assert "It failed its last test, on 1 March 2025, and no later pass is typed in." in page
    assert "On 1 March 2025 it showed 41,000 miles, 7,000 fewer than on 1 March 2024." in page
    assert "“Slight oil leak” came back: it was noted on 1 March 2024 and 1 March 2025." in page
    assert "Its last pass ran out by 1 April 2025 at the latest." in page


def test_its_first_registration_tells_when_the_first_mot_was_needed(everyone: dict[str, Client], offer: Offer) -> None:
    Offer.objects.filter(pk=offer.pk).update(terms=offer.terms | {"first_registered": "2020-01-10"})
    everyone["keeper"].post(page_of(offer), typed() | a_test(0, "2023-03-01") | a_test(1, "2026-03-01"))
    page = shown(everyone["keeper"], page_of(offer))
    assert "It needed its first MOT by 10 January 2023 if it was new when first registered." in page
    assert "No pass typed in can cover 2 April 2024 to 28 February 2026" in page
    assert "Its last pass runs out between 28 February 2027 and 1 April 2027" in page


def test_rows_are_kept_in_order_with_room_for_more(everyone: dict[str, Client], offer: Offer) -> None:
    everyone["keeper"].post(page_of(offer), typed() | a_test(0, "2025-03-01") | a_test(1, "2024-03-01"))
    offer.refresh_from_db()
    assert [test["on"] for test in offer.look_over["tests"]] == ["2024-03-01", "2025-03-01"]
    page = everyone["keeper"].get(page_of(offer)).content.decode()
    assert input_value(page, "test_1_on") == "2025-03-01"
    assert 'name="test_3_on"' in page
    assert 'name="test_4_on"' not in page
    everyone["keeper"].post(page_of(offer), typed())
    offer.refresh_from_db()
    assert offer.look_over["tests"] == []


def test_no_more_rows_are_read_than_there_may_be(everyone: dict[str, Client], offer: Offer) -> None:
    data = typed()
    for at in range(MOST_TESTS + 5):
        data |= a_test(at, "2024-03-01")
    for at in range(MOST_WORK + 5):
        data |= {f"work_{at}_words": "Tyre", f"work_{at}_pounds": "1"}
    everyone["keeper"].post(page_of(offer), data)
    offer.refresh_from_db()
    assert (len(offer.look_over["tests"]), len(offer.look_over["work"])) == (MOST_TESTS, MOST_WORK)


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({"test_0_miles": "48000"}, "test_0_on", "Give the day of this test."),
        ({"test_0_on": "2025-03-01"}, "test_0_result", "Choose one."),
        ({"test_0_on": "2026-03-17", "test_0_result": "passed"}, "test_0_on", "has not come yet"),
        ({"test_0_on": "2025-03-01", "test_0_result": "well"}, "test_0_result", "Select a valid choice"),
        ({"test_0_on": "2025-03-01", "test_0_result": "passed", "test_0_miles": "lots"}, "test_0_miles", "be read"),
        ({"test_0_advisories": "x" * 201}, "test_0_advisories", "200 characters a line"),
        ({"work_0_pounds": "50"}, "work_0_words", "Say what this is for."),
        ({"keepers": "0"}, "keepers", "1"),
        ({"closed_roof": "perhaps"}, "closed_roof", "Select a valid choice"),
    ],
)
def test_what_cannot_be_is_said_beside_its_field_and_nothing_is_kept(
    everyone: dict[str, Client], offer: Offer, changes: dict[str, str], field: str, words: str
) -> None:
    response = everyone["keeper"].post(page_of(offer), typed(**changes))
    assert response.status_code == 200
    assert f'id="id_{field}_error"' in response.content.decode()
    assert words in text_of(response)
    offer.refresh_from_db()
    assert offer.look_over == {}


def test_once_accepted_it_stays_as_it_was(everyone: dict[str, Client], offer: Offer, keeper: Member) -> None:
    Offer.objects.filter(pk=offer.pk).update(chosen_on=date(2026, 3, 1))
    response = everyone["keeper"].post(page_of(offer), typed(keys="no"))
    assert "You accepted this offer" in text_of(response)
    page = everyone["keeper"].get(page_of(offer)).content.decode()
    assert "You accepted this offer on 1 March 2026, so what you found before is kept as it was." in page
    assert 'name="closed_roof"' not in page
    with pytest.raises(ValidationError):
        save_look_over(by=keeper, offer=offer, look_over={})


def test_neither_a_hired_car_nor_the_one_one_has_is_looked_over(
    everyone: dict[str, Client], offer: Offer, keeper: Member
) -> None:
    rental = Offer.objects.get(name="Rental")
    assert everyone["keeper"].get(page_of(rental)).status_code == 404
    comparison = everyone["keeper"].get(reverse("costing:comparison", args=[offer.comparison_id])).content.decode()
    assert page_of(offer) in comparison
    assert page_of(rental) not in comparison
    Offer.objects.filter(pk=offer.pk).update(kept=CarFactory.create(keeper=keeper))
    assert everyone["keeper"].get(page_of(offer)).status_code == 404


@pytest.mark.parametrize("who", ["colleague", "coordinator", "stranger"])
def test_anothers_offer_is_not_there(everyone: dict[str, Client], offer: Offer, who: str, colleague: Member) -> None:
    assert everyone[who].get(page_of(offer)).status_code == 404
    assert everyone[who].post(page_of(offer), typed(keys="no")).status_code == 404
    with pytest.raises(PermissionError):
        save_look_over(by=colleague, offer=offer, look_over={})


def test_somebody_not_signed_in_is_sent_to_sign_in(everyone: dict[str, Client], offer: Offer) -> None:
    assert everyone["anonymous"].get(page_of(offer)).url.startswith(reverse("account_login"))
