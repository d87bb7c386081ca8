"""The pages that correct and void the takings of one week."""

from datetime import date

import pytest
from django.core.exceptions import ValidationError
from django.test import Client
from django.urls import reverse

from costing.models import Takings
from costing.planning.services.takings import correct_takings, void_takings
from instructors.models import Member
from tests.costing.pages import input_value, shown, text_of
from tests.factories import TakingsFactory

pytestmark = pytest.mark.usefixtures("today")


@pytest.fixture
def week(keeper: Member) -> Takings:
    return TakingsFactory.create(member=keeper)


def address(week: Takings, page: str = "takings-correct") -> str:
    return reverse(f"costing:{page}", args=[week.pk])


def test_it_is_corrected_and_its_history_tells(everyone: dict[str, Client], week: Takings) -> None:
    sent = {"amount": "805.50", "cancelled_count": "1", "cancelled_minutes": ""}
    response = everyone["keeper"].post(address(week), sent, follow=True)
    assert "Corrected: £805.50, 9 to 15 March 2026." in text_of(response)
    page = shown(everyone["keeper"], address(week))
    assert "Taken: £840.00 became £805.50" in page
    assert "Lessons cancelled: not entered became 1" in page
    assert "Wren Applegarth" in page


def test_hours_stand_there_as_one_types_them(everyone: dict[str, Client], keeper: Member) -> None:
    week = TakingsFactory.create(member=keeper, cancelled_count=1, cancelled_minutes=75)
    page = everyone["keeper"].get(address(week)).content.decode()
    assert input_value(page, "cancelled_minutes") == "1:15"
    sent = {name: input_value(page, name) or "" for name in ("amount", "cancelled_count", "cancelled_minutes")}
    everyone["keeper"].post(address(week), sent)
    assert week.history.count() == 1


def test_what_it_said_before_is_not_asked_about_again(everyone: dict[str, Client], keeper: Member) -> None:
    odd = TakingsFactory.create(member=keeper, from_on=date(2026, 2, 2), amount=9_000)
    assert everyone["keeper"].post(address(odd), {"amount": "9000", "cancelled_count": "2"}).status_code == 303
    response = everyone["keeper"].post(address(odd), {"amount": "9500"})
    assert "£9,500 in a week?" in text_of(response)


def test_it_is_voided_with_a_reason(everyone: dict[str, Client], week: Takings) -> None:
    assert "Void this week?" in shown(everyone["keeper"], address(week, "takings-void"))
    response = everyone["keeper"].post(address(week, "takings-void"), {"reason": "the wrong week"}, follow=True)
    assert "Voided: £840.00, 9 to 15 March 2026." in text_of(response)
    assert not Takings.objects.standing().exists()
    page = shown(everyone["keeper"], address(week))
    assert "Voided: the wrong week" in page
    assert "This week was voided and no longer counts." in page
    assert "Void this week" not in page
    assert '<button class="key"' not in everyone["keeper"].get(address(week)).content.decode()


def test_without_a_reason_it_is_not_voided(everyone: dict[str, Client], week: Takings) -> None:
    response = everyone["keeper"].post(address(week, "takings-void"), {"reason": ""})
    assert "Not voided yet" in text_of(response)
    assert Takings.objects.standing().exists()


def test_voiding_twice_changes_nothing(keeper: Member, week: Takings) -> None:
    void_takings(by=keeper, takings=week, reason="once")
    void_takings(by=keeper, takings=week, reason="twice")
    assert week.history.count() == 1 + 1


def test_what_is_voided_is_not_corrected(keeper: Member, week: Takings) -> None:
    void_takings(by=keeper, takings=week, reason="once")
    with pytest.raises(ValidationError, match="voided"):
        correct_takings(by=keeper, takings=week, changes={"amount": 1})


def test_nobody_else_may(colleague: Member, week: Takings) -> None:
    with pytest.raises(PermissionError):
        correct_takings(by=colleague, takings=week, changes={"amount": 1})
    with pytest.raises(PermissionError):
        void_takings(by=colleague, takings=week, reason="mine")


@pytest.mark.parametrize("who", ["colleague", "coordinator"])
@pytest.mark.parametrize("page", ["takings-correct", "takings-void"])
def test_another_s_week_is_not_there(everyone: dict[str, Client], week: Takings, who: str, page: str) -> None:
    assert everyone[who].get(address(week, page)).status_code == 404
    assert everyone[who].post(address(week, page), {"amount": "1", "reason": "x"}).status_code == 404
