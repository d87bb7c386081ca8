"""How the car will be used, for every offer alike."""

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

#: Chances that can't be: 60% and 60%.
CERTAIN = {"leaving_month_1": "7", "leaving_chance_1": "60", "leaving_chance_2": "60"}

pytestmark = pytest.mark.usefixtures("today")


def address(pk: int) -> str:
    return reverse("costing:comparison-use", args=[pk])


def test_it_is_kept_as_the_table_of_a_document(everyone: dict[str, Client], keeper: Member) -> None:
    before = datetime(2026, 3, 10, 18, tzinfo=UTC)
    comparison = comparison_of(keeper, use={}, changed_at=before)
    purse = {"cash_in_hand": "4,000", "put_by_per_month": "650", "marginal_tax_rate": "26", "discount_rate": "4"}
    leaving = {"leaving_month_1": "7", "leaving_chance_1": "25", "leaving_month_2": "13", "leaving_chance_2": "10"}
    response = everyone["keeper"].post(address(comparison.pk), USE | purse | leaving)
    assert (response.status_code, response.url) == (303, reverse("costing:offer-add", args=[comparison.pk]))
    comparison.refresh_from_db()
    assert comparison.use == {
        "starts_on": "2026-05-01",
        "months": 30,
        "miles_per_year": 24_000,
        "private_miles_per_year": 3_000,
        "lesson_hours_per_week": 26,
        "weeks_taught_per_year": 46,
        "lesson_hour_price": "38.00",
        "discount_rate": "0.04",
        "marginal_tax_rate": "0.26",
        "cash_in_hand": "4000.00",
        "put_by_per_month": "650.00",
        "leaving": [{"month": 7, "chance": "0.25"}, {"month": 13, "chance": "0.1"}],
    }
    assert comparison.changed_at > before


def test_with_offers_it_leads_back_to_the_comparison(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = comparison_of(keeper)
    rental(comparison)
    response = everyone["keeper"].post(address(comparison.pk), USE)
    assert response.url == reverse("costing:comparison", args=[comparison.pk])


def test_what_was_kept_is_filled_in(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = comparison_of(keeper)
    comparison.use = comparison.use | {"marginal_tax_rate": "0.26", "leaving": [{"month": 7, "chance": "0.25"}]}
    comparison.save()
    response = everyone["keeper"].get(address(comparison.pk))
    page = response.content.decode()
    names = ("starts_on", "months", "lesson_hour_price", "marginal_tax_rate", "leaving_month_1", "leaving_chance_1")
    assert [input_value(page, name) for name in names] == ["2026-05-01", "24", "38.00", "26", "7", "25"]
    assert "Your cash, tax and interest tax" in text_of(response)


def test_six_months_of_leaving_may_be_told_and_more_from_a_file_are_kept(
    everyone: dict[str, Client], keeper: Member
) -> None:
    comparison = comparison_of(keeper)
    leaving = [{"month": month, "chance": "0.1"} for month in range(1, 8)]
    comparison.use = comparison.use | {"leaving": leaving}
    comparison.save()
    rows = {f"leaving_month_{row}": str(row) for row in range(1, 7)}
    rows |= {f"leaving_chance_{row}": "10" for row in range(1, 7)}
    assert 'name="leaving_month_6"' in everyone["keeper"].get(address(comparison.pk)).content.decode()
    everyone["keeper"].post(address(comparison.pk), USE | rows)
    comparison.refresh_from_db()
    assert comparison.use["leaving"] == leaving


def test_attempts_are_spoken_of_to_a_trainee_alone(
    everyone: dict[str, Client], keeper: Member, colleague: Member
) -> None:
    for who, member, is_trainee in (("keeper", keeper, False), ("colleague", colleague, True)):
        response = everyone[who].get(address(comparison_of(member).pk))
        text, page = text_of(response), response.content.decode()
        assert ("attempt" in text) == ("trainee" in text) == is_trainee
        assert ('id="leaving" open' in page) == is_trainee
        assert "You might leave before the end" in text


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
        ({"leaving_month_1": "7"}, "leaving_chance_1", "Fill in both"),
        ({"leaving_month_1": "30", "leaving_chance_1": "5"}, "leaving_month_1", "only after months 1 to 29"),
        (CERTAIN | {"leaving_month_2": "9"}, "leaving_month_1", "The chances add up to 120%: 100% is the most."),
        (CERTAIN | {"leaving_month_2": "7"}, "leaving_month_1", "has month 7 twice"),
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


def test_nobody_else_finds_it(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = comparison_of(keeper)
    for who in ("colleague", "coordinator", "stranger"):
        assert everyone[who].get(address(comparison.pk)).status_code == 404, who
        assert everyone[who].post(address(comparison.pk), USE | {"name": "Mine"}).status_code == 404, who
    comparison.refresh_from_db()
    assert comparison.name == "Next car"
