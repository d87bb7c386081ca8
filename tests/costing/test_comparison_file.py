"""A comparison as an offers file."""

import tomllib
from datetime import date

import pytest
from django.test import Client
from django.urls import reverse

from instructors.models import Member
from tests.costing.comparison_pages import comparison_of, rental

pytestmark = pytest.mark.usefixtures("today")


def test_it_holds_the_tables_and_the_complete_offers(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = comparison_of(keeper)
    rental(comparison)
    rental(comparison, name="Half told", terms={})
    response = everyone["keeper"].get(reverse("costing:comparison-file", args=[comparison.pk]))
    assert response["Content-Disposition"] == f'attachment; filename="offers-{comparison.pk}.toml"'
    document = tomllib.loads(response.content.decode())
    assert document["use"]["starts_on"] == date(2026, 5, 1)
    assert document["running"]["insurance"] == [1140.0, 985.0]
    assert [offer["name"] for offer in document["offer"]] == ["Weekly rental"]


def test_nobody_else_finds_it(everyone: dict[str, Client], keeper: Member) -> None:
    address = reverse("costing:comparison-file", args=[comparison_of(keeper).pk])
    for who in ("colleague", "coordinator", "stranger"):
        assert everyone[who].get(address).status_code == 404, who
