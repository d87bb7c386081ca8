"""The fragment that asks what a cost covers, by its category."""

import re
from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from costing.models import CostEntry
from fleet.models import Car
from instructors.models import Member
from tests.costing.pages import HTMX, cost_data, input_value
from tests.factories import AgreementFactory, CarFactory, CostEntryFactory

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


# --- The days that are proposed ----------------------------------------------------------------------------


def proposed(client: Client, **sent: Any) -> tuple[str | None, str | None]:
    """The first and the last day that the fragment fills in."""
    page = client.get(COVER, sent).content.decode()
    return input_value(page, "covers_from"), input_value(page, "covers_to")


@pytest.mark.parametrize("category", ["insurance", "vehicle_tax", "breakdown_cover"])
def test_a_renewal_is_proposed_from_the_day_after_the_old_cover(
    everyone: dict[str, Client], car: Car, category: str
) -> None:
    CostEntryFactory(car=car, category=category, covers_from=date(2025, 3, 29), covers_to=date(2026, 3, 28))
    assert proposed(everyone["keeper"], category=category) == ("2026-03-29", "2027-03-28")
    page = everyone["keeper"].get(COVER, {"category": category}).content.decode()
    assert "<small>the day after the old cover</small>" in page


@pytest.mark.parametrize(
    "changes",
    [
        {"category": "vehicle_tax"},
        {"amount": "-86.40"},
        {"covers_to": date(2026, 2, 28)},
        {"ended_on": date(2026, 2, 28)},
        {"covers_from": date(2026, 4, 1), "covers_to": date(2027, 3, 31)},
    ],
    ids=["another category", "refund", "long over", "ended", "still to begin"],
)
def test_what_is_not_renewed_moves_no_proposal(everyone: dict[str, Client], car: Car, changes: dict[str, Any]) -> None:
    start = {"category": "insurance", "covers_from": date(2025, 3, 29), "covers_to": date(2026, 3, 28)}
    CostEntryFactory(car=car, **start | changes)
    assert proposed(everyone["keeper"], category="insurance") == ("2026-03-16", "2027-03-15")


def test_nobody_elses_cover_and_no_voided_one_is_renewed(
    everyone: dict[str, Client], car: Car, colleague: Member
) -> None:
    covers = {"category": "insurance", "covers_from": date(2025, 3, 29), "covers_to": date(2026, 3, 28)}
    CostEntryFactory(car=car, member=colleague, **covers)
    CostEntryFactory(car=CarFactory(keeper=car.keeper, registration="QA60XYZ"), **covers)
    CostEntryFactory(car=car, voided_at="2026-03-01T09:00Z", **covers)
    assert proposed(everyone["keeper"], category="insurance", car="QA51ABC") == ("2026-03-16", "2027-03-15")


def test_fit_out_is_proposed_to_the_end_of_the_agreement_or_for_three_years(
    everyone: dict[str, Client], car: Car
) -> None:
    assert proposed(everyone["keeper"], category="fit_out") == ("2026-03-16", "2029-03-15")
    assert "<small>in three years</small>" in everyone["keeper"].get(COVER, {"category": "fit_out"}).content.decode()
    AgreementFactory(car=car, starts_on=date(2025, 6, 1), payments=36)
    page = everyone["keeper"].get(COVER, {"category": "fit_out"}).content.decode()
    assert "<small>the end of the agreement</small>" in page
    assert proposed(everyone["keeper"], category="fit_out") == ("2026-03-16", "2028-05-31")
    assert proposed(everyone["keeper"], category="fit_out", paid_on="2025-06-20") == ("2025-06-20", "2028-05-31")
    # An agreement of somebody else is none of the member's, and what is paid for another car has its own.
    assert proposed(everyone["colleague"], category="fit_out", car="QA51ABC") == ("2026-03-16", "2029-03-15")


def test_the_proposal_follows_the_car_and_the_day_but_not_what_was_typed(everyone: dict[str, Client], car: Car) -> None:
    other = CarFactory(keeper=car.keeper, registration="QA60XYZ")
    AgreementFactory(car=other, starts_on=date(2025, 6, 1), payments=36)
    sent = {"category": "fit_out", "car": "QA60XYZ", "paid_on": "2026-03-10", "again": ""}
    filled_in = {"covers_from": "2026-03-16", "covers_to": "2029-03-15"}
    untouched = filled_in | {f"initial-{name}": day for name, day in filled_in.items()}
    assert proposed(everyone["keeper"], **sent, **untouched) == ("2026-03-10", "2028-05-31")
    for typed in ({"covers_to": "2027-03-15"}, {"covers_nothing": "on"}, {"covers_miles": "9000"}):
        left_alone = everyone["keeper"].get(COVER, sent | untouched | typed, headers=HTMX)
        assert (left_alone.status_code, left_alone.content) == (204, b"")
    # A day that cannot be read yet counts as today.
    assert proposed(everyone["keeper"], **sent | {"paid_on": "10 M"}, **untouched)[0] == "2026-03-16"


def test_an_answer_about_a_policy_stays_when_its_days_move(everyone: dict[str, Client], car: Car) -> None:
    sent = {"category": "insurance", "paid_on": "2026-03-10", "tuition": "no", "again": ""}
    page = everyone["keeper"].get(COVER, sent).content.decode()
    assert input_value(page, "covers_from") == "2026-03-10"
    [checked] = [tag for tag in re.findall(r"<input[^>]*>", page) if 'name="tuition"' in tag and " checked" in tag]
    assert 'value="no"' in checked


def test_a_page_sent_without_script_proposes_the_same_days(everyone: dict[str, Client], car: Car) -> None:
    CostEntryFactory(car=car, category="vehicle_tax", covers_from=date(2025, 4, 1), covers_to=date(2026, 3, 31))
    page = everyone["keeper"].post(reverse("costing:cost-log"), cost_data(car, category="vehicle_tax")).content.decode()
    assert (input_value(page, "covers_from"), input_value(page, "covers_to")) == ("2026-04-01", "2027-03-31")
    assert "1 April 2026 to 31 March 2027 is filled in" in page


def test_putting_right_the_day_paid_moves_no_cover_that_is_recorded(everyone: dict[str, Client], car: Car) -> None:
    cost = CostEntryFactory(car=car, category="insurance", covers_from=date(2026, 3, 1), covers_to=date(2027, 2, 28))
    correct = everyone["keeper"].get(reverse("costing:entry-correct", args=["cost", cost.pk])).content.decode()
    assert f"{COVER}?again" in everyone["keeper"].get(reverse("costing:cost-log")).content.decode()
    assert f"{COVER}?again" not in correct
    assert input_value(correct, "covers_to") == "2027-02-28"


def test_a_cost_put_right_does_not_renew_itself(everyone: dict[str, Client], car: Car) -> None:
    cost = CostEntryFactory(
        car=car, category="vehicle_tax", paid_on=date(2026, 3, 16), covers_from=date(2026, 3, 16),
        covers_to=date(2027, 3, 15),
    )  # fmt: skip
    address = reverse("costing:entry-correct", args=["cost", cost.pk])
    page = everyone["keeper"].post(address, cost_data(car, category="vehicle_tax")).content.decode()
    assert input_value(page, "covers_from") == "2026-03-16"


def test_twelve_days_are_not_paid_twice(everyone: dict[str, Client], car: Car) -> None:
    """A policy renewed twelve days early: what it covers with the one before it is one day after the other."""
    CostEntryFactory(
        car=car, category="insurance", amount="911.37", covers_from=date(2025, 3, 29), covers_to=date(2026, 3, 28)
    )
    first, last = proposed(everyone["keeper"], category="insurance")
    sent = cost_data(car, category="insurance", amount="911.37", covers_from=first, covers_to=last, tuition="yes")
    everyone["keeper"].post(reverse("costing:cost-log"), sent)
    old, new = CostEntry.objects.order_by("covers_from")
    assert new.covers_from - old.covers_to == timedelta(days=1)
