"""The page /me/reminders/: from which hour a member is reminded, and of what."""

import pytest
from django.core.exceptions import ValidationError
from django.test import Client
from django.urls import reverse

from fleet.core.due_kinds import DUE_KINDS
from instructors.actions import choose_reminders
from instructors.models import Member
from tests.factories import CooperativeFactory

pytestmark = pytest.mark.usefixtures("today")

CHOICES = reverse("fleet:reminder-choices")


def choices_of(member: Member) -> tuple[int | None, bool]:
    member.refresh_from_db()
    return member.reminder_hour, member.wants_due_mail


def test_somebody_not_signed_in_is_sent_to_sign_in(everyone: dict[str, Client]) -> None:
    assert everyone["anonymous"].post(CHOICES, {}).url.startswith(reverse("account_login"))


@pytest.mark.parametrize("who", ["keeper", "colleague", "coordinator", "stranger"])
def test_everybody_chooses_for_themselves_alone(everyone: dict[str, Client], who: str) -> None:
    response = everyone[who].post(CHOICES, {"reminder_hour": "6"})
    assert response.url == CHOICES
    for member in Member.objects.all():
        is_me = member.email == f"{who}@book.example"
        assert choices_of(member) == ((6, False) if is_me else (None, True))


def test_what_was_chosen_is_shown_again(everyone: dict[str, Client]) -> None:
    everyone["keeper"].post(CHOICES, {"reminder_hour": "21", "wants_due_mail": "on"})
    page = everyone["keeper"].get(CHOICES).content.decode()
    assert '<option value="21" selected>21:00</option>' in page
    assert "checked" in page


def test_no_choice_is_the_co_ops_hour(everyone: dict[str, Client], keeper: Member) -> None:
    CooperativeFactory(reminder_hour=9)
    page = everyone["keeper"].get(CHOICES).content.decode()
    assert "The co-op&#x27;s, 9:00" in page
    everyone["keeper"].post(CHOICES, {"reminder_hour": "8", "wants_due_mail": "on"})
    everyone["keeper"].post(CHOICES, {"reminder_hour": "", "wants_due_mail": "on"})
    assert choices_of(keeper) == (None, True)


@pytest.mark.parametrize("hour", ["3", "24", "-1", "7:30", "noon"])
def test_no_other_hour_is_taken(everyone: dict[str, Client], keeper: Member, hour: str) -> None:
    response = everyone["keeper"].post(CHOICES, {"reminder_hour": hour, "wants_due_mail": "on"})
    assert set(response.context["form"].errors) == {"reminder_hour"}
    assert choices_of(keeper) == (None, True)


@pytest.mark.parametrize("hour", [4, 23])
def test_the_first_and_the_last_hour_are_taken(everyone: dict[str, Client], keeper: Member, hour: int) -> None:
    everyone["keeper"].post(CHOICES, {"reminder_hour": str(hour), "wants_due_mail": "on"})
    assert choices_of(keeper) == (hour, True)


def test_what_the_law_asks_for_is_named_as_mailed_all_the_same(everyone: dict[str, Client]) -> None:
    page = everyone["keeper"].get(CHOICES).content.decode()
    for kind in DUE_KINDS.values():
        assert (f"<li>{kind.words}</li>" in page) == kind.is_legal


def test_the_way_there_is_on_ones_own_page(everyone: dict[str, Client]) -> None:
    page = everyone["keeper"].get(reverse("fleet:profile")).content.decode()
    assert CHOICES in page
    assert reverse("fleet:calendar-feeds") in page


@pytest.mark.parametrize("hour", [3, 24])
def test_the_action_itself_refuses_an_hour_at_which_nothing_goes_out(keeper: Member, hour: int) -> None:
    with pytest.raises(ValidationError) as refusal:
        choose_reminders(by=keeper, reminder_hour=hour, wants_due_mail=True, wants_log_mail=True)
    assert set(refusal.value.message_dict) == {"reminder_hour"}


def test_the_word_about_logging_is_a_choice_of_its_own(everyone: dict[str, Client], keeper: Member) -> None:
    everyone["keeper"].post(CHOICES, {"reminder_hour": "", "wants_due_mail": "on", "wants_log_mail": "on"})
    keeper.refresh_from_db()
    assert keeper.wants_log_mail
    assert "E-mail me when I have logged nothing for a week" in everyone["keeper"].get(CHOICES).content.decode()
    everyone["keeper"].post(CHOICES, {"reminder_hour": "", "wants_due_mail": "on"})
    keeper.refresh_from_db()
    assert not keeper.wants_log_mail
