"""How far the uncertain figures may go, as a member says."""

from datetime import UTC, datetime

import pytest
from django.test import Client
from django.urls import reverse

from costing.choosing.services.saving import save_uncertain
from costing.models import Comparison
from instructors.models import Member
from tests.costing.offered import PCP, add_offers, pcp_and_rental
from tests.costing.pages import input_value, text_of
from tests.factories import ComparisonFactory

pytestmark = pytest.mark.usefixtures("today")

EMPTY = {f"{bound}_{index}": "" for bound in ("low", "likely", "high") for index in range(3)}
#: The second of the three inputs asked about is the repairs.
REPAIRS = EMPTY | {"low_1": "150", "likely_1": "£400.00", "high_1": "1,400"}


def address(comparison: Comparison) -> str:
    return reverse("costing:comparison-ranges", args=[comparison.pk])


@pytest.fixture
def comparison(keeper: Member) -> Comparison:
    return pcp_and_rental(keeper)


def test_nobody_else_sees_or_changes_them(everyone: dict[str, Client], comparison: Comparison) -> None:
    for name, status in {"colleague": 404, "coordinator": 404, "stranger": 404, "anonymous": 302}.items():
        assert everyone[name].get(address(comparison)).status_code == status
        assert everyone[name].post(address(comparison), REPAIRS).status_code == status
    comparison.refresh_from_db()
    assert comparison.uncertain == []


def test_the_usual_ranges_stand_there_to_be_changed(everyone: dict[str, Client], comparison: Comparison) -> None:
    page = everyone["keeper"].get(address(comparison)).content.decode()
    assert [input_value(page, f"{bound}_1") for bound in ("low", "likely", "high")] == ["200.00", "400.00", "1000.00"]
    assert input_value(page, "low_2") == "19200"


def test_ranges_are_kept_and_shown_again(everyone: dict[str, Client], comparison: Comparison) -> None:
    answer = everyone["keeper"].post(address(comparison), REPAIRS)
    assert answer.status_code == 303
    assert answer.headers["Location"] == reverse("costing:comparison-odds", args=[comparison.pk])
    comparison.refresh_from_db()
    row = {"input": "repairs_per_year", "low": "150.00", "likely": "400.00", "high": "1400.00"}
    assert comparison.uncertain == [row]
    assert comparison.changed_at == datetime(2026, 3, 16, 12, tzinfo=UTC)
    page = everyone["keeper"].get(address(comparison)).content.decode()
    assert input_value(page, "high_1") == "1400.00"
    assert input_value(page, "low_0") is None
    assert everyone["keeper"].post(address(comparison), REPAIRS).status_code == 303
    comparison.refresh_from_db()
    assert comparison.uncertain == [row]


def test_a_value_belongs_to_its_own_offer(everyone: dict[str, Client], comparison: Comparison) -> None:
    everyone["keeper"].post(address(comparison), EMPTY | {"low_0": "5000", "likely_0": "6500", "high_0": "7000"})
    comparison.refresh_from_db()
    [row] = comparison.uncertain
    assert (row["input"], row["offer"]) == ("value_at_horizon", "Three-year-old hatchback")


def test_with_all_empty_the_usual_ranges_come_back(everyone: dict[str, Client], comparison: Comparison) -> None:
    everyone["keeper"].post(address(comparison), REPAIRS)
    page = text_of(everyone["keeper"].post(address(comparison), EMPTY, follow=True))
    assert "The usual ranges are back in use." in page
    assert "ranges are our own assumptions" in page


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"high_1": ""}, "Fill in all three figures, or none."),
        ({"likely_1": "100"}, "The likely figure must lie between the other two."),
        ({"high_1": "lots"}, "This cannot be read: write it like 450.00."),
        ({"low_2": "0", "likely_2": "1", "high_2": "2"}, "This is less than 1: it must be between 1 and 1,000,000."),
    ],
)
def test_figures_that_will_not_do_are_said_to_be_so_and_kept(
    everyone: dict[str, Client], comparison: Comparison, typed: dict[str, str], words: str
) -> None:
    answer = everyone["keeper"].post(address(comparison), REPAIRS | typed)
    assert words in text_of(answer)
    assert input_value(answer.content.decode(), "low_1") == "150"
    comparison.refresh_from_db()
    assert comparison.uncertain == []


def test_whole_months_and_pence_of_a_file_can_be_changed(everyone: dict[str, Client], keeper: Member) -> None:
    rows = [
        {"input": "months", "low": "12", "likely": "24", "high": "36"},
        {"input": "fuel_pence_per_mile", "low": "12", "likely": "13.5", "high": "16"},
    ]
    comparison = pcp_and_rental(keeper, uncertain=rows)
    page = everyone["keeper"].get(address(comparison)).content.decode()
    assert [input_value(page, f"{bound}_3") for bound in ("low", "likely", "high")] == ["12", "24", "36"]
    assert input_value(page, "likely_4") == "13.50"
    typed = EMPTY | {"low_3": "18", "likely_3": "24", "high_3": "30", "low_4": "", "likely_4": "", "high_4": ""}
    everyone["keeper"].post(address(comparison), typed)
    comparison.refresh_from_db()
    [row] = comparison.uncertain
    assert row["input"] == "months"


def test_months_in_which_an_offer_leaves_no_car_are_refused(everyone: dict[str, Client], keeper: Member) -> None:
    months = {"input": "months", "low": "12", "likely": "24", "high": "24"}
    comparison = ComparisonFactory.create(member=keeper, uncertain=[months])
    add_offers(comparison, ("pcp", "Hatchback", PCP | {"payments": 24, "at_end": "hand_back"}))
    # The months come after what usually is uncertain: the car's value, the repairs and the miles.
    typed = EMPTY | {"low_3": "12", "likely_3": "24", "high_3": "36"}
    assert "is handed back after 24 months, which leaves no car" in text_of(
        everyone["keeper"].post(address(comparison), typed)
    )
    comparison.refresh_from_db()
    assert comparison.uncertain == [months]


def test_more_pairs_of_months_and_weeks_than_are_worked_out_are_refused_beside_the_figure(
    everyone: dict[str, Client], keeper: Member
) -> None:
    rows = [
        {"input": "months", "low": "12", "likely": "24", "high": "36"},
        {"input": "weeks_off", "low": "0", "likely": "4", "high": "8"},
    ]
    comparison = pcp_and_rental(keeper, uncertain=rows)
    months = {"low_3": "12", "likely_3": "24", "high_3": "111"}
    typed = EMPTY | months | {"low_4": "0", "likely_4": "4", "high_4": "10"}
    page = everyone["keeper"].post(address(comparison), typed)
    assert (
        "1,100 pairs of months and weeks off, together with the range before it: at most 1,000 can be worked out"
        in str(page.context["form"].errors["high_4"])
    )
    assert input_value(page.content.decode(), "high_3") == "111"
    comparison.refresh_from_db()
    assert comparison.uncertain == rows
    assert everyone["keeper"].post(address(comparison), typed | {"high_4": "9"}).status_code == 303


def test_only_its_own_member_changes_a_comparison(comparison: Comparison, coordinator: Member) -> None:
    with pytest.raises(PermissionError):
        save_uncertain(by=coordinator, comparison=comparison, uncertain=[])


def test_what_cannot_be_compared_yet_leads_back(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = ComparisonFactory.create(member=keeper)
    answer = everyone["keeper"].get(address(comparison))
    assert answer.headers["Location"] == reverse("costing:comparison", args=[comparison.pk])
