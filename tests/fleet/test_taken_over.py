"""A car that was handed over: insurance and tax are not known until the taker has seen to them; the MOT goes along."""

from collections.abc import Callable
from datetime import date

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from fleet.actions import complete_due_item, confirm_points
from fleet.models import Car
from fleet.queries import CarDue, due_report, tuition_cover_of
from instructors.models import Grade, Member
from tests.costing.pages import text_of
from tests.factories import CostEntryFactory, DueItemFactory, MemberFactory
from tests.fleet.keepers import hand_on

pytestmark = pytest.mark.django_db

#: The taker's first day is the day after the handover.
HANDOVER, FIRST, TODAY = date(2026, 3, 9), date(2026, 3, 10), date(2026, 3, 16)


def due_on(car: Car, on: date = TODAY) -> CarDue:
    [found] = due_report(on, cars=[Car.objects.select_related("keeper").get(pk=car.pk)]).cars
    return found


def unknown(car: Car, on: date = TODAY) -> list[str]:
    return [status.kind for status in due_on(car, on).verdict.items if status.state == "unknown"]


@pytest.fixture
def taken(car: Car, coordinator: Member) -> Car:
    """A car in order, handed over a week ago to an ADI; its registered keeper is not known."""
    for kind in ("mot", "insurance", "vehicle_tax"):
        DueItemFactory(car=car, kind=kind)
    hand_on(car, MemberFactory(name="Taker"), HANDOVER, coordinator)
    return car


@pytest.mark.usefixtures("today")
def test_until_the_taker_has_seen_to_them_insurance_and_tax_are_not_known(taken: Car) -> None:
    assert due_on(taken, HANDOVER).verdict.verdict == "nothing_against"  # that day is the former keeper's
    assert unknown(taken, FIRST) == unknown(taken) == ["insurance", "vehicle_tax"]
    taker = taken.keeper
    confirm_points(by=taker, car=taken, confirmed_on=TODAY, answers={"tuition_insurance": True})
    assert unknown(taken) == ["vehicle_tax"]
    tax = taken.due_items.get(kind="vehicle_tax")
    complete_due_item(by=taker, item=tax, done_on=TODAY, next_due_on=date(2027, 2, 28))
    assert due_on(taken).verdict.verdict == "nothing_against"
    tax.completions.update(voided_at=timezone.now())  # entered wrongly
    assert unknown(taken) == ["vehicle_tax"]


@pytest.mark.usefixtures("today")
def test_what_anybody_else_says_of_the_policy_does_not_count(taken: Car, keeper: Member, coordinator: Member) -> None:
    for other in (keeper, coordinator):
        confirm_points(by=other, car=taken, confirmed_on=TODAY, answers={"tuition_insurance": True})
        assert "insurance" in unknown(taken)
    assert tuition_cover_of(taken, TODAY) is None
    # The same answer by the taker is another one, though it is given on the same day.
    confirm_points(by=taken.keeper, car=taken, confirmed_on=TODAY, answers={"tuition_insurance": True})
    assert "insurance" not in unknown(taken)
    assert tuition_cover_of(taken, TODAY) is not None


@pytest.mark.usefixtures("today")
def test_tax_logged_as_a_cost_by_the_taker_is_tax_paid(taken: Car, keeper: Member) -> None:
    CostEntryFactory(car=taken, member=keeper, category="vehicle_tax", paid_on=TODAY)
    assert "vehicle_tax" in unknown(taken)
    CostEntryFactory(car=taken, member=taken.keeper, category="vehicle_tax", paid_on=TODAY)
    assert "vehicle_tax" not in unknown(taken)


@pytest.mark.parametrize("whose", ["former", "taker"])
def test_a_loan_by_the_registered_keeper_leaves_the_tax_as_it_is(taken: Car, keeper: Member, whose: str) -> None:
    taken.registered_keeper = keeper if whose == "former" else taken.keeper
    taken.save()
    assert unknown(taken) == (["insurance"] if whose == "former" else ["insurance", "vehicle_tax"])


def test_back_from_a_loan_the_lender_confirms_the_policy_anew(taken: Car, keeper: Member, coordinator: Member) -> None:
    taken.registered_keeper = keeper
    taken.save()
    hand_on(taken, keeper, date(2026, 3, 12), coordinator)
    assert unknown(taken) == ["insurance"]


def test_a_policy_found_to_cover_an_adi_is_not_known_to_cover_a_trainee(car: Car) -> None:
    for kind in ("mot", "insurance", "vehicle_tax"):
        DueItemFactory(car=car, kind=kind)
    assert unknown(car) == []
    Member.objects.filter(pk=car.keeper_id).update(grade=Grade.PDI)
    assert unknown(car) == ["insurance"]


@pytest.mark.usefixtures("today")
def test_the_board_gives_no_day_of_a_policy_or_tax_that_did_not_go_with_the_car(
    taken: Car, coordinator: Member, client_of: Callable[[Member], Client]
) -> None:
    page = text_of(client_of(coordinator).get(reverse("fleet:car-list")))
    assert "to confirm" not in page
    assert page.count("not known") >= 2
