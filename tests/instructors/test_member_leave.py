"""The page /people/<pk>/leaving/: a member's last day."""

from datetime import date

import pytest
from django.test import Client
from django.urls import reverse

from instructors.models import Member
from tests.factories import CoordinatorFactory


def page_of(member: Member) -> str:
    return reverse("instructors:member-leave", args=[member.pk])


@pytest.mark.parametrize("who", ["keeper", "colleague", "stranger"])
def test_a_member_without_the_role_finds_nothing_and_records_nothing(
    everyone: dict[str, Client], keeper: Member, who: str
) -> None:
    assert everyone[who].get(page_of(keeper)).status_code == 404
    assert everyone[who].post(page_of(keeper), {"left_on": "2026-03-16"}).status_code == 404
    keeper.refresh_from_db()
    assert keeper.left_on is None


def test_somebody_not_signed_in_is_sent_to_sign_in(everyone: dict[str, Client], keeper: Member) -> None:
    response = everyone["anonymous"].post(page_of(keeper), {"left_on": "2026-03-16"})
    assert response.url.startswith(reverse("account_login"))


def test_today_is_proposed(today: date, everyone: dict[str, Client], keeper: Member) -> None:
    assert 'value="2026-03-16"' in everyone["coordinator"].get(page_of(keeper)).content.decode()


def test_who_left_yesterday_is_signed_out_and_stays_so(
    today: date, everyone: dict[str, Client], keeper: Member
) -> None:
    mine = reverse("fleet:profile")
    assert everyone["keeper"].get(mine).status_code == 200
    everyone["coordinator"].post(page_of(keeper), {"left_on": "2026-03-15"})
    assert everyone["keeper"].get(mine).status_code == 302


def test_the_last_day_itself_still_counts(today: date, everyone: dict[str, Client], keeper: Member) -> None:
    for _ in range(2):
        everyone["coordinator"].post(page_of(keeper), {"left_on": "2026-03-16"})
    keeper.refresh_from_db()
    assert keeper.left_on == date(2026, 3, 16)
    assert everyone["keeper"].get(reverse("fleet:profile")).status_code == 200


def test_who_is_back_may_sign_in_again(today: date, everyone: dict[str, Client], keeper: Member) -> None:
    everyone["coordinator"].post(page_of(keeper), {"left_on": "2026-03-01"})
    everyone["coordinator"].post(page_of(keeper), {"back": "1"})
    keeper.refresh_from_db()
    assert keeper.left_on is None
    assert keeper.is_active


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        ("", "Give a day."),
        ("soon", "Write the day like 5 March 2027 or 05/03/2027."),
        ("0026-03-16", "Check the year: it must be from 1980 to 2100."),
    ],
)
def test_wrong_input_keeps_what_was_typed(everyone: dict[str, Client], keeper: Member, typed: str, why: str) -> None:
    response = everyone["coordinator"].post(page_of(keeper), {"left_on": typed})
    assert response.context["form"].errors["left_on"] == [why]
    assert response.context["form"]["left_on"].value() == typed


def test_a_last_day_before_joining_is_refused(everyone: dict[str, Client], keeper: Member) -> None:
    response = everyone["coordinator"].post(page_of(keeper), {"left_on": "2023-04-05"})
    assert response.context["form"].errors["left_on"] == [
        "Wren Applegarth joined on 6 April 2023, which is after this day."
    ]


def test_the_only_coordinator_cannot_leave(everyone: dict[str, Client], coordinator: Member) -> None:
    response = everyone["coordinator"].post(page_of(coordinator), {"left_on": "2026-03-16"})
    assert "is the only coordinator" in response.context["form"].errors["left_on"][0]
    CoordinatorFactory()
    assert everyone["coordinator"].post(page_of(coordinator), {"left_on": "2026-03-16"}).status_code == 303
