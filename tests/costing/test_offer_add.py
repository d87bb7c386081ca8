"""Beginning an offer."""

import pytest
from django.test import Client
from django.urls import reverse

from costing.models import Offer
from instructors.models import Member
from tests.costing.comparison_pages import comparison_of, rental
from tests.costing.pages import shown, text_of

PCP = {"kind": "pcp", "name": "Hatchback on PCP"}

pytestmark = pytest.mark.usefixtures("today")


def address(pk: int) -> str:
    return reverse("costing:offer-add", args=[pk])


def test_each_way_of_having_a_car_is_explained(everyone: dict[str, Client], keeper: Member) -> None:
    text = shown(everyone["keeper"], address(comparison_of(keeper).pk))
    assert "it never becomes yours" in text
    assert "You pay lower instalments, then choose" in text


def test_it_begins_with_its_kind_name_and_age_and_leads_to_the_money(
    everyone: dict[str, Client], keeper: Member
) -> None:
    comparison = comparison_of(keeper)
    rental(comparison, position=4)
    response = everyone["keeper"].post(address(comparison.pk), PCP | {"first_registered": "2023-05-10"})
    offer = Offer.objects.get(name="Hatchback on PCP")
    assert (response.status_code, response.url) == (303, reverse("costing:offer-terms", args=[offer.pk, "money"]))
    assert (offer.kind, offer.position, offer.is_complete) == ("pcp", 5, False)
    assert offer.terms == {"first_registered": "2023-05-10"}


def test_the_ninth_offer_ever_takes_the_letter_of_one_that_is_gone(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = comparison_of(keeper)
    for position in (0, 1, 3, 7):
        rental(comparison, name=f"At {position}", position=position)
    everyone["keeper"].post(address(comparison.pk), PCP)
    assert Offer.objects.get(name="Hatchback on PCP").letter == "C"


def test_sent_twice_it_begins_once(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = comparison_of(keeper)
    for _ in range(2):
        response = everyone["keeper"].post(address(comparison.pk), PCP | {"first_registered": "2023-05-10"})
        assert response.status_code == 303
    assert Offer.objects.count() == 1


def test_a_name_is_taken_once(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = comparison_of(keeper)
    rental(comparison, name="Hatchback on PCP")
    response = everyone["keeper"].post(address(comparison.pk), PCP)
    assert "You have another offer of this name here." in text_of(response)
    assert Offer.objects.count() == 1


def test_no_more_than_eight_can_be_compared(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = comparison_of(keeper)
    for number in range(8):
        rental(comparison, name=f"Rental {number}")
    response = everyone["keeper"].post(address(comparison.pk), PCP)
    assert "At most 8 offers" in text_of(response)
    assert Offer.objects.count() == 8


def test_both_have_to_be_told(everyone: dict[str, Client], keeper: Member) -> None:
    response = everyone["keeper"].post(address(comparison_of(keeper).pk), {"name": ""})
    assert 'id="id_kind_error"' in response.content.decode()
    assert 'id="id_name_error"' in response.content.decode()


def test_a_day_of_registration_that_has_not_come_is_refused(everyone: dict[str, Client], keeper: Member) -> None:
    typed = PCP | {"first_registered": "2026-03-17"}
    response = everyone["keeper"].post(address(comparison_of(keeper).pk), typed)
    assert "17 March 2026 has not come yet" in text_of(response)
    assert not Offer.objects.exists()


def test_nobody_else_finds_the_comparison(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = comparison_of(keeper)
    for who in ("colleague", "coordinator", "stranger"):
        assert everyone[who].get(address(comparison.pk)).status_code == 404, who
        assert everyone[who].post(address(comparison.pk), PCP).status_code == 404, who
    assert not Offer.objects.exists()
