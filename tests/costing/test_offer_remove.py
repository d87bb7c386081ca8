"""Removing an offer."""

import pytest
from django.test import Client
from django.urls import reverse

from costing.models import Offer
from instructors.models import Member
from tests.costing.comparison_pages import comparison_of, rental
from tests.costing.pages import shown

pytestmark = pytest.mark.usefixtures("today")


def address(offer: Offer) -> str:
    return reverse("costing:offer-remove", args=[offer.pk])


def test_it_goes_when_confirmed_and_its_uncertainty_with_it(everyone: dict[str, Client], keeper: Member) -> None:
    row = {"input": "damage", "low": "0", "likely": "1", "high": "2"}
    comparison = comparison_of(keeper, uncertain=[row | {"offer": "Weekly rental"}, row])
    offer = rental(comparison)
    assert "Weekly rental" in shown(everyone["keeper"], address(offer))
    response = everyone["keeper"].post(address(offer))
    assert (response.status_code, response.url) == (303, reverse("costing:comparison-list"))
    assert not Offer.objects.exists()
    comparison.refresh_from_db()
    assert comparison.uncertain == [row]


def test_one_that_was_taken_up_is_kept(everyone: dict[str, Client], keeper: Member) -> None:
    offer = rental(comparison_of(keeper), chosen_on="2026-03-02")
    everyone["keeper"].post(address(offer))
    assert "You accepted this offer" in shown(everyone["keeper"], reverse("costing:comparison-list"))
    assert Offer.objects.exists()


def test_nobody_else_finds_it(everyone: dict[str, Client], keeper: Member) -> None:
    offer = rental(comparison_of(keeper))
    for who in ("colleague", "coordinator", "stranger"):
        assert everyone[who].get(address(offer)).status_code == 404, who
        assert everyone[who].post(address(offer)).status_code == 404, who
    assert Offer.objects.exists()
