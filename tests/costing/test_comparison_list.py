"""The list of a member's own comparisons."""

import pytest
from django.test import Client
from django.urls import reverse

from instructors.models import Member
from tests.costing.comparison_pages import comparison_of, rental
from tests.costing.pages import shown

LIST = reverse("costing:comparison-list")

pytestmark = pytest.mark.usefixtures("today")


def test_nobody_sees_the_comparisons_of_another(everyone: dict[str, Client], keeper: Member) -> None:
    comparison_of(keeper, name="Wren’s next hatchback")
    for who, client in everyone.items():
        if who != "anonymous":
            assert ("Wren’s next hatchback" in shown(client, LIST)) == (who == "keeper"), who


def test_each_offer_leads_to_its_page_and_says_if_it_cannot_be_compared(
    everyone: dict[str, Client], keeper: Member
) -> None:
    comparison = comparison_of(keeper)
    unfinished, finished = rental(comparison, terms={"payment": "129.00"}, name="A"), rental(comparison, name="B")
    page = everyone["keeper"].get(LIST).content.decode()
    for offer in (unfinished, finished):
        assert f'href="{reverse("costing:offer-terms", args=[offer.pk])}"' in page
    assert page.count("Not finished") == 1
    assert page.index("Not finished") < page.index(">B<")


def test_without_any_it_says_how_to_start(everyone: dict[str, Client]) -> None:
    assert "Nothing here yet" in shown(everyone["stranger"], LIST)
