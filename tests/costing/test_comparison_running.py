"""Running costs that are the same for every offer, and where each figure came from."""

import pytest
from django.test import Client
from django.urls import reverse

from instructors.models import Member
from tests.costing.comparison_pages import comparison_of, rental
from tests.costing.pages import input_value, shown, text_of

pytestmark = pytest.mark.usefixtures("today")
OWN = "your own records, March 2025 to February 2026"


def address(pk: int) -> str:
    return reverse("costing:comparison-running", args=[pk])


def test_each_figure_says_where_it_came_from(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = comparison_of(
        keeper, sources={"repairs_per_year": OWN, "insurance": "the group’s median of 6 members"}
    )
    text = shown(everyone["keeper"], address(comparison.pk))
    assert "Repairs a year , in pounds £ Your own records, March 2025 to February 2026." in text
    assert "The group’s median of 6 members." in text
    assert "What you leave empty isn’t told, and the comparison says so." in text
    assert "counts as nothing" not in text
    page = everyone["keeper"].get(address(comparison.pk)).content.decode()
    assert [input_value(page, f"insurance_{year}") for year in (1, 2, 3)] == ["1140.00", "985.00", None]


def test_a_figure_left_as_it_was_keeps_its_source_and_one_changed_is_typed_in(
    everyone: dict[str, Client], keeper: Member
) -> None:
    comparison = comparison_of(keeper, sources={"repairs_per_year": OWN, "fuel_pence_per_mile": OWN})
    typed = {
        "repairs_per_year": "400",
        "fuel_pence_per_mile": "14.25",
        "insurance_1": "880",
        "tyre_set_miles": "20,000",
    }
    response = everyone["keeper"].post(address(comparison.pk), typed)
    assert (response.status_code, response.url) == (303, reverse("costing:offer-add", args=[comparison.pk]))
    comparison.refresh_from_db()
    assert comparison.running == {
        "repairs_per_year": "400.00",
        "fuel_pence_per_mile": "14.25",
        "insurance": "880.00",
        "tyre_set_miles": 20_000,
    }
    assert comparison.sources == {
        "repairs_per_year": OWN,
        "fuel_pence_per_mile": "typed in",
        "insurance": "typed in",
        "tyre_set_miles": "typed in",
    }


def test_nothing_typed_is_no_figure_of_nothing(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = comparison_of(keeper)
    rental(comparison)
    response = everyone["keeper"].post(address(comparison.pk), {"mot": "0"})
    assert response.url == reverse("costing:comparison", args=[comparison.pk])
    comparison.refresh_from_db()
    assert comparison.running == {"mot": "0.00"}


@pytest.mark.parametrize(
    ("typed", "field", "words"),
    [
        (
            {"fuel_pence_per_mile": "201"},
            "fuel_pence_per_mile",
            "This is more than 200: it must be between 0 and 200 pence.",
        ),
        ({"insurance_2": "985"}, "insurance_1", "Fill in this year too"),
        (
            {"repairs_per_year": "400", "repairs_per_year_low": "500"},
            "repairs_per_year_high",
            "A range needs all three",
        ),
        (
            {"fuel_pence_per_mile": "13", "mpg": "40", "pence_per_litre": "140"},
            "fuel_pence_per_mile",
            "is told twice",
        ),
        ({"repairs_per_year": "a lot"}, "repairs_per_year", "cannot be read"),
        (
            {"tyre_set_miles": "300,000"},
            "tyre_set_miles",
            "This is more than 200,000: it must be between 1 and 200,000 miles.",
        ),
    ],
)
def test_what_cannot_be_is_refused_beside_its_field(
    everyone: dict[str, Client], keeper: Member, typed: dict[str, str], field: str, words: str
) -> None:
    comparison = comparison_of(keeper)
    response = everyone["keeper"].post(address(comparison.pk), typed)
    assert words in text_of(response)
    assert f'id="id_{field}_error"' in response.content.decode()
    before = comparison.running
    comparison.refresh_from_db()
    assert comparison.running == before


def test_nobody_else_finds_it(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = comparison_of(keeper)
    for who in ("colleague", "coordinator", "stranger"):
        assert everyone[who].get(address(comparison.pk)).status_code == 404, who
        assert everyone[who].post(address(comparison.pk), {}).status_code == 404, who
    comparison.refresh_from_db()
    assert comparison.running


def test_miles_of_a_set_and_premiums_of_later_years_come_back_as_they_were(
    everyone: dict[str, Client], keeper: Member
) -> None:
    running = {"insurance": ["1140.00", "985.00", "720.00", "700.00"], "tyre_set_miles": 24_000}
    comparison = comparison_of(keeper, running=running)
    page = everyone["keeper"].get(address(comparison.pk)).content.decode()
    names = ("insurance_1", "insurance_2", "insurance_3", "tyre_set_miles")
    everyone["keeper"].post(address(comparison.pk), {name: input_value(page, name) for name in names})
    comparison.refresh_from_db()
    assert comparison.running == running


def test_a_range_and_fuel_by_economy_are_kept(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = comparison_of(keeper, running={})
    repairs = {"repairs_per_year": "400", "repairs_per_year_low": "150", "repairs_per_year_high": "1,400"}
    everyone["keeper"].post(address(comparison.pk), repairs | {"miles_per_kwh": "3.6", "pence_per_kwh": "31"})
    comparison.refresh_from_db()
    assert comparison.running == {
        "fuel": {"miles_per_kwh": "3.6", "pence_per_kwh": 31},
        "repairs_per_year": {"low": "150.00", "likely": "400.00", "high": "1400.00"},
    }
