"""The page on which a coordinator hands a car on."""

from datetime import date

import pytest
from django.core.exceptions import ValidationError
from django.test import Client
from django.urls import reverse

from fleet.actions import hand_on_car
from fleet.models import Car
from instructors.models import Member
from tests.costing.pages import text_of
from tests.factories import CostEntryFactory, MemberFactory

HAND_ON = reverse("fleet:car-keeper", args=["QA51ABC"])

pytestmark = pytest.mark.usefixtures("today")


def test_a_coordinator_hands_a_car_on(
    everyone: dict[str, Client], car: Car, colleague: Member, coordinator: Member
) -> None:
    assert HAND_ON in everyone["coordinator"].get(reverse("fleet:car", args=["QA51ABC"])).content.decode()
    response = everyone["coordinator"].post(HAND_ON, {"keeper": str(colleague.pk)})
    assert response.url == reverse("fleet:car", args=["QA51ABC"])
    car.refresh_from_db()
    assert car.keeper == colleague
    assert car.history.first().history_user == coordinator


def test_what_was_logged_stays_with_whoever_logged_it(
    everyone: dict[str, Client], car: Car, keeper: Member, colleague: Member
) -> None:
    cost = CostEntryFactory(car=car)
    everyone["coordinator"].post(HAND_ON, {"keeper": str(colleague.pk)})
    cost.refresh_from_db()
    assert cost.member == keeper
    address = reverse("costing:entry-correct", args=["cost", cost.pk])
    assert everyone["keeper"].get(address).status_code == 200
    assert everyone["colleague"].get(address).status_code == 404


def test_sent_twice_it_changes_once(car: Car, colleague: Member, coordinator: Member) -> None:
    for _ in range(2):
        hand_on_car(by=coordinator, car=car, keeper=colleague)
    assert car.history.filter(history_type="~").count() == 1


@pytest.mark.parametrize("chosen", ["", "999999"])
def test_nobody_and_no_member_are_refused(everyone: dict[str, Client], car: Car, keeper: Member, chosen: str) -> None:
    response = everyone["coordinator"].post(HAND_ON, {"keeper": chosen})
    assert 'id="id_keeper_error"' in response.content.decode()
    assert "Not saved yet" in text_of(response)
    car.refresh_from_db()
    assert car.keeper == keeper


def test_nobody_who_has_left_gets_a_car(everyone: dict[str, Client], car: Car, coordinator: Member) -> None:
    left = MemberFactory(left_on=date(2026, 3, 1))
    assert left.name not in text_of(everyone["coordinator"].get(HAND_ON))
    with pytest.raises(ValidationError) as refusal:
        hand_on_car(by=coordinator, car=car, keeper=left)
    assert "keeper" in refusal.value.message_dict


@pytest.mark.parametrize("who", ["keeper", "colleague", "stranger"])
def test_no_member_does(everyone: dict[str, Client], car: Car, keeper: Member, colleague: Member, who: str) -> None:
    assert everyone[who].get(HAND_ON).status_code == 404
    assert everyone[who].post(HAND_ON, {"keeper": str(colleague.pk)}).status_code == 404
    with pytest.raises(PermissionError):
        hand_on_car(by=keeper, car=car, keeper=colleague)
    car.refresh_from_db()
    assert car.keeper == keeper


def test_somebody_not_signed_in_is_sent_to_sign_in(everyone: dict[str, Client], car: Car) -> None:
    assert everyone["anonymous"].get(HAND_ON).url.startswith(reverse("account_login"))
