"""The fragment that asks what a cost covers, by its category."""

import pytest
from django.test import Client
from django.urls import reverse

from tests.costing.pages import input_value

COVER = reverse("costing:cost-cover")

pytestmark = pytest.mark.usefixtures("today")


@pytest.mark.parametrize("category", ["insurance", "vehicle_tax", "breakdown_cover"])
def test_cover_by_days_is_a_year_from_today(everyone: dict[str, Client], category: str) -> None:
    page = everyone["keeper"].get(COVER, {"category": category}).content.decode()
    assert input_value(page, "covers_from") == "2026-03-16"
    assert input_value(page, "covers_to") == "2027-03-15"
    assert input_value(page, "covers_miles") is None


def test_tyres_last_as_far_as_the_co_op_says(everyone: dict[str, Client]) -> None:
    page = everyone["keeper"].get(COVER, {"category": "tyres"}).content.decode()
    assert input_value(page, "covers_miles") == "25000"
    assert 'name="covers_from"' not in page


@pytest.mark.parametrize("category", ["repairs", "", "no such thing"])
def test_any_other_sum_may_cover_days_or_miles_but_need_not(everyone: dict[str, Client], category: str) -> None:
    page = everyone["keeper"].get(COVER, {"category": category}).content.decode()
    assert {input_value(page, name) for name in ("covers_from", "covers_to", "covers_miles")} == {None}
    assert all(f'name="{name}"' in page for name in ("covers_from", "covers_to", "covers_miles"))


def test_it_is_for_members(everyone: dict[str, Client]) -> None:
    assert everyone["anonymous"].get(COVER).url.startswith(reverse("account_login"))


def test_insurance_alone_is_asked_whether_it_covers_tuition(everyone: dict[str, Client]) -> None:
    for category in ("insurance", "vehicle_tax", "repairs"):
        page = everyone["keeper"].get(COVER, {"category": category}).content.decode()
        assert ('name="tuition"' in page) == (category == "insurance")
