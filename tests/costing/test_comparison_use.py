"""Step 1 of a comparison: how the car will be used."""

from datetime import UTC, datetime

import pytest
from django.test import Client
from django.urls import reverse

from costing.models import Comparison
from fleet.models import Car
from instructors.models import Member
from tests.costing.comparison_pages import USE, comparison_of, rental
from tests.costing.pages import input_value, text_of
from tests.factories import OfferFactory

pytestmark = pytest.mark.usefixtures("today")


def address(pk: int) -> str:
    return reverse("costing:comparison-use", args=[pk])


def test_it_is_kept_as_the_tables_of_a_document(everyone: dict[str, Client], keeper: Member) -> None:
    before = datetime(2026, 3, 10, 18, tzinfo=UTC)
    comparison = comparison_of(keeper, use={}, changed_at=before)
    response = everyone["keeper"].post(address(comparison.pk), USE | {"marginal_tax_rate": "26"})
    assert (response.status_code, response.url) == (303, reverse("costing:comparison-running", args=[comparison.pk]))
    comparison.refresh_from_db()
    assert comparison.use == {
        "starts_on": "2026-05-01",
        "months": 24,
        "miles_per_year": 24_000,
        "private_miles_per_year": 3_000,
        "lesson_hours_per_week": "26.00",
        "weeks_taught_per_year": "46.00",
        "lesson_hour_price": "38.00",
        "marginal_tax_rate": "0.26",
    }
    assert comparison.changed_at > before


def test_what_was_kept_is_filled_in(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = comparison_of(keeper)
    comparison.use = comparison.use | {"marginal_tax_rate": "0.26"}
    comparison.save()
    page = everyone["keeper"].get(address(comparison.pk)).content.decode()
    names = ("starts_on", "months", "lesson_hour_price", "marginal_tax_rate")
    assert [input_value(page, name) for name in names] == ["2026-05-01", "24", "38.00", "26"]


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({"months": ""}, "months", "Fill this in"),
        ({"months": "121"}, "months", "This is more than 120: it must be between 1 and 120 months."),
        (
            {"private_miles_per_year": "24,001"},
            "private_miles_per_year",
            "This is more than the miles of the whole year.",
        ),
        ({"weeks_taught_per_year": "53"}, "weeks_taught_per_year", "between 1 and 52"),
        ({"lesson_hour_price": "38,5"}, "lesson_hour_price", "cannot be read"),
        ({"starts_on": "soon"}, "starts_on", "5 March 2027"),
    ],
)
def test_what_cannot_be_is_refused_beside_its_field_and_all_typed_is_kept(
    everyone: dict[str, Client], keeper: Member, changes: dict[str, str], field: str, words: str
) -> None:
    comparison = comparison_of(keeper)
    response = everyone["keeper"].post(address(comparison.pk), USE | {"name": "A new name"} | changes)
    page = response.content.decode()
    assert words in text_of(response)
    assert f'id="id_{field}_error"' in page
    assert input_value(page, "name") == "A new name"
    comparison.refresh_from_db()
    assert comparison.name == "Next car"


def test_what_a_taken_offer_was_expected_to_cost_stays_as_it_was(
    everyone: dict[str, Client], keeper: Member, car: Car
) -> None:
    comparison = comparison_of(keeper)
    OfferFactory(comparison=comparison, car=car, chosen_on="2026-03-02")
    before = Comparison.objects.values("use", "running", "name").get()
    running = reverse("costing:comparison-running", args=[comparison.pk])
    for page, typed in (address(comparison.pk), USE | {"name": "Another", "months": "36"}), (running, {"mot": "1.00"}):
        response = everyone["keeper"].post(page, typed)
        assert response.status_code == 200
        assert "You accepted an offer, so what you expected of it is kept to look back on." in text_of(response)
    assert Comparison.objects.values("use", "running", "name").get() == before


def test_over_other_months_an_offer_may_want_another_end(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = comparison_of(keeper)
    handed_back = OfferFactory.create(
        comparison=comparison,
        kind="pcp",
        terms={"price": "11800", "deposit": "1200", "payment": "189", "payments": 24, "at_end": "hand_back"},
    )
    stays = rental(comparison)
    everyone["keeper"].post(address(comparison.pk), USE | {"months": "36"})
    for offer in (handed_back, stays):
        offer.refresh_from_db()
    # Handed back after 24 months there is no car for the other 12.
    assert (handed_back.is_complete, stays.is_complete) == (False, True)


def test_nobody_else_finds_it(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = comparison_of(keeper)
    for who in ("colleague", "coordinator", "stranger"):
        assert everyone[who].get(address(comparison.pk)).status_code == 404, who
        assert everyone[who].post(address(comparison.pk), USE | {"name": "Mine"}).status_code == 404, who
    comparison.refresh_from_db()
    assert comparison.name == "Next car"
