"""What a cost covers: proposed by its category where nothing is told, on the page that is sent without script."""

from datetime import date, timedelta
from importlib import import_module
from typing import Any

import pytest
from django.apps import apps
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from costing.kit import logging_kit
from costing.models import CostEntry
from fleet.models import Car, DueItem
from instructors.models import Member
from tests.costing.pages import cost_data, input_value, save
from tests.factories import AgreementFactory, CarFactory, CostEntryFactory, DueItemFactory, RepeatFactory

COST_LOG = reverse("costing:cost-log")

pytestmark = pytest.mark.usefixtures("today")


def page_of(client: Client, car: Car, **sent: Any) -> str:
    """The page that asks what a cost covers: it was sent without that."""
    response = client.post(COST_LOG, cost_data(car, **sent))
    assert response.status_code == 200
    return response.content.decode()


def proposed(client: Client, car: Car, **sent: Any) -> tuple[str | None, str | None]:
    """The first and the last day that are filled in."""
    page = page_of(client, car, **sent)
    return input_value(page, "covers_from"), input_value(page, "covers_to")


@pytest.mark.parametrize("category", ["insurance", "vehicle_tax", "breakdown_cover"])
def test_cover_by_days_is_a_year_from_today(everyone: dict[str, Client], car: Car, category: str) -> None:
    page = page_of(everyone["keeper"], car, category=category)
    assert input_value(page, "covers_from") == "2026-03-16"
    assert input_value(page, "covers_to") == "2027-03-15"
    assert input_value(page, "covers_miles") is None
    assert '<div data-covers="miles" hidden>' in page


def test_tyres_last_as_far_as_the_co_op_says(everyone: dict[str, Client], car: Car) -> None:
    page = page_of(everyone["keeper"], car, category="tyres")
    assert input_value(page, "covers_miles") == "25000"
    assert '<div data-covers="days" hidden>' in page


def test_any_sum_may_cover_days_or_miles_but_need_not(everyone: dict[str, Client], car: Car) -> None:
    page = everyone["keeper"].get(COST_LOG).content.decode()
    assert {input_value(page, name) for name in ("covers_from", "covers_to", "covers_miles")} == {None}
    assert '<details id="cover">' in page
    assert '<div data-covers="days">' in page
    assert '<div data-covers="miles">' in page


def test_insurance_alone_is_asked_whether_it_covers_tuition(everyone: dict[str, Client], car: Car) -> None:
    for category in ("insurance", "vehicle_tax"):
        page = page_of(everyone["keeper"], car, category=category)
        assert ('<div data-covers="tuition">' in page) == (category == "insurance")


# --- The days that are proposed ----------------------------------------------------------------------------


@pytest.mark.parametrize("category", ["insurance", "vehicle_tax", "breakdown_cover"])
def test_a_renewal_is_proposed_from_the_day_after_the_old_cover(
    everyone: dict[str, Client], car: Car, category: str
) -> None:
    CostEntryFactory(car=car, category=category, covers_from=date(2025, 3, 29), covers_to=date(2026, 3, 28))
    assert proposed(everyone["keeper"], car, category=category) == ("2026-03-29", "2027-03-28")
    page = page_of(everyone["keeper"], car, category=category)
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
    assert proposed(everyone["keeper"], car, category="insurance") == ("2026-03-16", "2027-03-15")


def test_nobody_elses_cover_and_no_voided_one_is_renewed(
    everyone: dict[str, Client], car: Car, colleague: Member
) -> None:
    covers = {"category": "insurance", "covers_from": date(2025, 3, 29), "covers_to": date(2026, 3, 28)}
    CostEntryFactory(car=car, member=colleague, **covers)
    CostEntryFactory(car=CarFactory(keeper=car.keeper, registration="QA60XYZ"), **covers)
    CostEntryFactory(car=car, voided_at="2026-03-01T09:00Z", **covers)
    assert proposed(everyone["keeper"], car, category="insurance") == ("2026-03-16", "2027-03-15")


@pytest.mark.parametrize(
    ("interval", "last"), [("month", "2026-04-28"), ("quarter", "2026-06-28"), ("year", "2027-03-28")]
)
def test_a_cover_that_is_paid_in_parts_is_proposed_for_one_of_them(
    everyone: dict[str, Client], car: Car, interval: str, last: str
) -> None:
    start = {"category": "insurance", "interval": interval, "starts_on": date(2025, 12, 29), "covers_its_days": True}
    RepeatFactory(car=car, **start)
    CostEntryFactory(car=car, category="insurance", covers_from=date(2026, 3, 1), covers_to=date(2026, 3, 28))
    assert proposed(everyone["keeper"], car, category="insurance") == ("2026-03-29", last)
    months = logging_kit(car.keeper, date(2026, 3, 16))["covers"]["cars"]["QA51ABC"]["insurance"]["months"]
    assert months == {"month": 1, "quarter": 3, "year": 12}[interval]


@pytest.mark.parametrize(
    "changes",
    [
        {"interval": "week"},
        {"covers_its_days": False},
        {"stopped_on": date(2026, 3, 1)},
        {"payments": 3, "made_until": date(2026, 2, 28)},
        {"category": "vehicle_tax"},
    ],
    ids=["weekly", "only paid in parts", "stopped", "all paid", "another category"],
)
def test_what_is_not_or_no_longer_paid_in_parts_is_proposed_for_a_year(
    everyone: dict[str, Client], car: Car, changes: dict[str, Any]
) -> None:
    start = {"category": "insurance", "starts_on": date(2025, 12, 28), "covers_its_days": True}
    RepeatFactory(car=car, **start | changes)
    assert proposed(everyone["keeper"], car, category="insurance") == ("2026-03-16", "2027-03-15")


def test_fit_out_is_proposed_to_the_end_of_the_agreement_or_for_three_years(
    everyone: dict[str, Client], car: Car
) -> None:
    keeper = everyone["keeper"]
    assert proposed(keeper, car, category="fit_out") == ("2026-03-16", "2029-03-15")
    assert "<small>in three years</small>" in page_of(keeper, car, category="fit_out")
    AgreementFactory(car=car, starts_on=date(2025, 6, 1), payments=36)
    assert "<small>the end of the agreement</small>" in page_of(keeper, car, category="fit_out")
    assert proposed(keeper, car, category="fit_out") == ("2026-03-16", "2028-05-31")
    assert proposed(keeper, car, category="fit_out", paid_on="2025-06-20") == ("2025-06-20", "2028-05-31")


def test_a_phone_proposes_the_same_from_its_kit(everyone: dict[str, Client], car: Car) -> None:
    other = CarFactory(keeper=car.keeper, registration="QA60XYZ")
    AgreementFactory(car=other, starts_on=date(2025, 6, 1), payments=36)
    for until, ended in ((date(2026, 3, 28), None), (date(2026, 9, 1), date(2026, 1, 9))):
        CostEntryFactory(car=car, category="insurance", covers_from=date(2025, 3, 29), covers_to=until, ended_on=ended)
    covers = logging_kit(car.keeper, date(2026, 3, 16))["covers"]
    assert covers["categories"]["insurance"] == {"covers": "days", "months": 12, "tuition": True}
    assert covers["categories"]["tyres"]["covers"] == "miles"
    assert (covers["miles"], covers["late"]) == (25_000, 14)
    assert covers["cars"]["QA51ABC"]["insurance"] == {"follows": "2026-03-28"}
    assert covers["cars"]["QA51ABC"]["fit_out"] == {"ends": ""}
    assert covers["cars"]["QA60XYZ"]["fit_out"] == {"ends": "2028-05-31"}


def test_a_page_sent_without_script_proposes_the_same_days(everyone: dict[str, Client], car: Car) -> None:
    CostEntryFactory(car=car, category="vehicle_tax", covers_from=date(2025, 4, 1), covers_to=date(2026, 3, 31))
    page = save(
        everyone["keeper"], reverse("costing:cost-log"), cost_data(car, category="vehicle_tax")
    ).content.decode()
    assert (input_value(page, "covers_from"), input_value(page, "covers_to")) == ("2026-04-01", "2027-03-31")
    assert "1 April 2026 to 31 March 2027 is filled in" in page


def test_putting_right_the_day_paid_moves_no_cover_that_is_recorded(everyone: dict[str, Client], car: Car) -> None:
    cost = CostEntryFactory(car=car, category="insurance", covers_from=date(2026, 3, 1), covers_to=date(2027, 2, 28))
    correct = everyone["keeper"].get(reverse("costing:entry-correct", args=["cost", cost.pk])).content.decode()
    assert "data-log" not in correct
    assert input_value(correct, "covers_to") == "2027-02-28"


def test_a_cost_put_right_does_not_renew_itself(everyone: dict[str, Client], car: Car) -> None:
    cost = CostEntryFactory(
        car=car, category="vehicle_tax", paid_on=date(2026, 3, 16), covers_from=date(2026, 3, 16),
        covers_to=date(2027, 3, 15),
    )  # fmt: skip
    address = reverse("costing:entry-correct", args=["cost", cost.pk])
    page = save(everyone["keeper"], address, cost_data(car, category="vehicle_tax")).content.decode()
    assert input_value(page, "covers_from") == "2026-03-16"


def test_twelve_days_are_not_paid_twice(everyone: dict[str, Client], car: Car) -> None:
    """A policy renewed twelve days early: what it covers with the one before it is one day after the other."""
    CostEntryFactory(
        car=car, category="insurance", amount="911.37", covers_from=date(2025, 3, 29), covers_to=date(2026, 3, 28)
    )
    first, last = proposed(everyone["keeper"], car, category="insurance")
    sent = cost_data(car, category="insurance", amount="911.37", covers_from=first, covers_to=last, tuition="yes")
    save(everyone["keeper"], reverse("costing:cost-log"), sent)
    old, new = CostEntry.objects.order_by("covers_from")
    assert new.covers_from - old.covers_to == timedelta(days=1)


# --- Books from before the history of a due item told what follows from costs -------------------------------


@pytest.mark.parametrize(("is_own", "reason"), [(False, "Paid for by a cost"), (True, None)])
def test_a_day_that_a_cost_had_moved_is_told_from_its_history(car: Car, is_own: bool, reason: str | None) -> None:
    moved = import_module("costing.migrations.0019_due_days_that_follow_from_costs")
    until = date(2026, 9, 30)
    if is_own:
        DueItemFactory.create(car=car, kind="insurance", due_on=until)
        DueItem.history.update(history_date=timezone.now() - timedelta(days=3))
    cost = CostEntryFactory(car=car, category="insurance", covers_from=date(2025, 10, 1), covers_to=until)
    assert CostEntry.history.filter(id=cost.pk).exists()
    if not is_own:
        DueItemFactory.create(car=car, kind="insurance", due_on=until)
    moved.tell(apps, None)
    assert DueItem.history.get().history_change_reason == reason


def test_undoing_a_cost_leaves_what_is_due_as_it_was(everyone: dict[str, Client], car: Car) -> None:
    keeper = everyone["keeper"]
    DueItemFactory.create(car=car, kind="insurance", due_on=date(2026, 7, 31))
    before = list(DueItem.objects.values())
    for category, first, last in (
        ("insurance", "2025-08-01", "2026-07-31"),
        ("breakdown_cover", "2026-03-10", "2027-03-09"),
    ):
        sent = cost_data(car, category=category, covers_from=first, covers_to=last, tuition="yes")
        assert save(keeper, COST_LOG, sent).status_code == 303
        keeper.post(reverse("costing:entry-undo", args=["cost", CostEntry.objects.standing().get().pk]))
        assert not CostEntry.objects.standing().exists()
        assert list(DueItem.objects.values()) == before
