"""How far the uncertain figures may go, as a member says."""

from datetime import UTC, datetime
from fractions import Fraction
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from config import budgets
from costing.choosing.services.comparisons import save_uncertain
from costing.models import Comparison
from instructors.models import Member
from tests.costing.offered import OWNED, PCP, USE, add_offers, pcp_and_rental
from tests.costing.pages import input_value, text_of
from tests.factories import ComparisonFactory

pytestmark = pytest.mark.usefixtures("today")

#: In the order of the page: what the car fetches, the rent, miles, insurance, repairs, fuel, weeks off, months.
VALUE, RENT, MILES, INSURANCE, REPAIRS, FUEL, WEEKS, MONTHS = range(8)


def told(index: int, low: str, likely: str, high: str) -> dict[str, str]:
    return {f"low_{index}": low, f"likely_{index}": likely, f"high_{index}": high}


A_RANGE = told(REPAIRS, "150", "£400.00", "1,400")
ROW = {"input": "repairs_per_year", "low": "150.00", "likely": "400.00", "high": "1400.00"}

BOUNDS = {"low": Fraction(9_000), "likely": Fraction(26_000), "high": Fraction(30_000)}


def address(comparison: Comparison) -> str:
    return reverse("costing:comparison-ranges", args=[comparison.pk])


@pytest.fixture
def comparison(keeper: Member) -> Comparison:
    return pcp_and_rental(keeper)


def kept(comparison: Comparison) -> list[dict[str, Any]]:
    comparison.refresh_from_db()
    return comparison.uncertain


def test_nobody_else_sees_or_changes_them(everyone: dict[str, Client], comparison: Comparison) -> None:
    for name, status in {"colleague": 404, "coordinator": 404, "stranger": 404, "anonymous": 302}.items():
        assert everyone[name].get(address(comparison)).status_code == status
        assert everyone[name].post(address(comparison), A_RANGE).status_code == status
    assert kept(comparison) == []


def test_of_too_many_ranges_the_comparison_names_the_first_that_goes_too_far(
    everyone: dict[str, Client], keeper: Member, comparison: Comparison, monkeypatch: pytest.MonkeyPatch
) -> None:
    save_uncertain(by=keeper, comparison=comparison, uncertain=[{"input": "miles_per_year", **BOUNDS}])
    monkeypatch.setattr(budgets, "RANGES", 0)

    words = text_of(everyone["keeper"].get(reverse("costing:comparison", args=[comparison.pk])))
    assert "uncertain 1, input: this is one range too many, of 1 in all: at most 0 can be worked out." in words


def test_every_figure_told_is_asked_with_what_is_planned(everyone: dict[str, Client], comparison: Comparison) -> None:
    page = everyone["keeper"].get(address(comparison)).content.decode()
    planned = [input_value(page, f"likely_{index}") for index in range(8)]
    assert planned == ["7600.00", "141.00", "26000", "1140.00", "430.00", "14.2", "0", "30"]
    assert [input_value(page, f"{bound}_{REPAIRS}") for bound in ("low", "high")] == [None, None]
    words = text_of(everyone["keeper"].get(address(comparison)))
    assert "What A’s car fetches at the end" in words
    assert "B’s payment" in words


def test_ranges_are_kept_and_shown_again(everyone: dict[str, Client], comparison: Comparison) -> None:
    answer = everyone["keeper"].post(address(comparison), A_RANGE)
    assert answer.status_code == 303
    assert answer.headers["Location"] == reverse("costing:comparison-odds", args=[comparison.pk])
    assert kept(comparison) == [ROW]
    assert comparison.changed_at == datetime(2026, 3, 16, 12, tzinfo=UTC)
    page = everyone["keeper"].get(address(comparison)).content.decode()
    assert input_value(page, f"high_{REPAIRS}") == "1400.00"
    assert everyone["keeper"].post(address(comparison), A_RANGE).status_code == 303
    assert kept(comparison) == [ROW]


def test_a_figure_belongs_to_its_own_offer(everyone: dict[str, Client], comparison: Comparison) -> None:
    everyone["keeper"].post(address(comparison), told(VALUE, "5000", "6500", "7000") | told(RENT, "130", "141", "150"))
    assert [(row["input"], row["offer"]) for row in kept(comparison)] == [
        ("value_at_horizon", "Small estate"),
        ("payment", "Weekly rental, all in"),
    ]


def test_months_fuel_and_miles_have_ranges_too(everyone: dict[str, Client], comparison: Comparison) -> None:
    ranges = told(MONTHS, "24", "30", "33") | told(FUEL, "12.5", "14.2", "16") | told(MILES, "20000", "26000", "30000")
    assert everyone["keeper"].post(address(comparison), ranges).status_code == 303
    assert [row["input"] for row in kept(comparison)] == ["miles_per_year", "fuel_pence_per_mile", "months"]


def test_with_all_left_as_planned_there_is_no_range(everyone: dict[str, Client], comparison: Comparison) -> None:
    everyone["keeper"].post(address(comparison), A_RANGE)
    page = text_of(everyone["keeper"].post(address(comparison), {f"likely_{REPAIRS}": "430.00"}, follow=True))
    assert "No figure has a range of your own now." in page
    assert kept(comparison) == []


def test_a_range_told_with_an_offer_is_changed_there_and_chances_take_the_place_of_months(
    everyone: dict[str, Client], keeper: Member
) -> None:
    spread = {"low": "6000.00", "likely": "7600.00", "high": "8200.00"}
    leaving = {"leaving": [{"month": 7, "chance": "0.25"}]}
    comparison = ComparisonFactory.create(member=keeper, use=USE | leaving)
    add_offers(comparison, ("pcp", "Estate", PCP | {"value_at_horizon": spread}), ("owned", "Car", OWNED))
    page = text_of(everyone["keeper"].get(address(comparison)))
    assert "What A’s car fetches" not in page
    assert "What B’s car fetches" in page
    assert "The months until you leave" not in page


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({f"high_{REPAIRS}": ""}, "Fill in all three figures, or leave the least and the most empty."),
        ({f"likely_{REPAIRS}": "100"}, "The likely figure must lie between the other two."),
        ({f"high_{REPAIRS}": "lots"}, "This cannot be read: write it like 45.20."),
        (told(MILES, "0", "1", "2"), "This is less than 1: it must be between 1 and"),
    ],
)
def test_figures_that_will_not_do_are_said_to_be_so_and_kept(
    everyone: dict[str, Client], comparison: Comparison, typed: dict[str, str], words: str
) -> None:
    answer = everyone["keeper"].post(address(comparison), A_RANGE | typed)
    assert words in text_of(answer)
    assert input_value(answer.content.decode(), f"low_{REPAIRS}") == "150"
    assert kept(comparison) == []


def test_months_in_which_an_offer_leaves_no_car_are_refused(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = ComparisonFactory.create(member=keeper)
    add_offers(comparison, ("pcp", "Hatchback", PCP | {"payment": "310.00", "payments": 24, "at_end": "hand_back"}))
    page = everyone["keeper"].get(address(comparison)).content.decode()
    months = max(int(name) for name in range(12) if input_value(page, f"likely_{name}") is not None)
    words = text_of(everyone["keeper"].post(address(comparison), told(months, "12", "24", "36")))
    assert "is handed back after 24 months, which leaves no car" in words
    assert kept(comparison) == []


def test_only_its_own_member_changes_a_comparison(comparison: Comparison, coordinator: Member) -> None:
    with pytest.raises(PermissionError):
        save_uncertain(by=coordinator, comparison=comparison, uncertain=[])


def test_what_cannot_be_compared_yet_leads_back(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = ComparisonFactory.create(member=keeper)
    answer = everyone["keeper"].get(address(comparison))
    assert answer.headers["Location"] == reverse("costing:comparison", args=[comparison.pk])
