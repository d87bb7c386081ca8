"""Removing a comparison."""

import pytest
from django.test import Client
from django.urls import reverse

from costing.models import Comparison, Offer
from instructors.models import Member
from tests.costing.comparison_pages import comparison_of, rental
from tests.costing.pages import shown

pytestmark = pytest.mark.usefixtures("today")


def address(pk: int) -> str:
    return reverse("costing:comparison-remove", args=[pk])


def test_it_goes_with_its_offers_and_only_when_confirmed(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = comparison_of(keeper)
    rental(comparison)
    assert "Next car" in shown(everyone["keeper"], address(comparison.pk))
    assert Comparison.objects.count() == 1
    response = everyone["keeper"].post(address(comparison.pk))
    assert (response.status_code, response.url) == (303, reverse("costing:comparison-list"))
    assert not Comparison.objects.exists()
    assert not Offer.objects.exists()


def test_one_of_which_an_offer_was_taken_up_is_kept(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = comparison_of(keeper)
    rental(comparison, chosen_on="2026-03-02")
    everyone["keeper"].post(address(comparison.pk))
    assert "You accepted one of its offers" in shown(everyone["keeper"], reverse("costing:comparison-list"))
    assert Offer.objects.count() == 1


def test_nobody_else_finds_it(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = comparison_of(keeper)
    for who in ("colleague", "coordinator", "stranger"):
        assert everyone[who].get(address(comparison.pk)).status_code == 404, who
        assert everyone[who].post(address(comparison.pk)).status_code == 404, who
    assert Comparison.objects.exists()
