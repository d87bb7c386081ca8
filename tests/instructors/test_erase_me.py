"""The page /me/erase/: a member leaves, and all that is theirs goes."""

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from costing.models import CostEntry
from fleet.actions import end_time
from fleet.models import Car
from instructors.models import Member
from tests.costing.pages import text_of
from tests.factories import CostEntryFactory
from tests.instructors.test_session_list import PC, signed_in_on
from tests.mailserver import MailServer

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today")]
PAGE = reverse("instructors:erase-me")


@pytest.fixture
def everyone(keeper: Member, colleague: Member, coordinator: Member, stranger: Member) -> dict[str, Client]:
    """The cast, each of whom has just signed in."""
    cast = {"keeper": keeper, "colleague": colleague, "coordinator": coordinator, "stranger": stranger}
    return {name: signed_in_on(member, PC) for name, member in cast.items()} | {"anonymous": Client()}


def send(client: Client, typed: str) -> Any:
    return client.post(PAGE, {"typed": typed})


def test_somebody_not_signed_in_is_sent_to_sign_in(everyone: dict[str, Client]) -> None:
    assert everyone["anonymous"].get(PAGE).url.startswith(reverse("account_login"))


def test_it_says_before_what_goes_and_what_stays_and_why(everyone: dict[str, Client]) -> None:
    page = text_of(everyone["stranger"].get(PAGE))
    for words in ("Every receipt", "a car's cost is what is in the book", "a former member", "backups until they go"):
        assert words in page, words
    assert reverse("costing:export") in everyone["stranger"].get(PAGE).content.decode()
    assert PAGE in everyone["stranger"].get(reverse("fleet:profile")).content.decode()


def test_it_speaks_to_the_member(everyone: dict[str, Client]) -> None:
    page = text_of(everyone["stranger"].get(PAGE))
    for words in ("the person", "their record.", "what their cars", "they were"):
        assert words not in page.replace("the others' records", ""), words
    assert "You still keep" not in page


def test_whoever_signed_in_long_ago_proves_again_who_they_are(stranger: Member, client: Client) -> None:
    stranger.set_password("three-crates-of-damsons")
    stranger.save()
    client.force_login(stranger)
    assert client.post(PAGE, {"typed": stranger.name}).url.startswith(reverse("account_reauthenticate"))
    stranger.refresh_from_db()
    assert not stranger.erased_at


def test_the_name_has_to_be_typed(everyone: dict[str, Client], stranger: Member) -> None:
    answer = send(everyone["stranger"], "Somebody Else")
    assert f"This is not the name. Type {stranger.name} if you are certain." in text_of(answer)
    stranger.refresh_from_db()
    assert not stranger.erased_at


def test_whoever_keeps_a_car_hands_it_on_first(
    everyone: dict[str, Client], keeper: Member, car: Car, coordinator: Member
) -> None:
    CostEntryFactory(car=car)
    assert "You still keep QA51 ABC: ask a coordinator to record who takes it on." in text_of(
        everyone["keeper"].get(PAGE)
    )
    assert "QA51 ABC is still kept by" in text_of(send(everyone["keeper"], keeper.name))
    assert CostEntry.objects.exists()
    end_time(by=coordinator, car=car, on=timezone.localdate(), odometer=60_000)
    assert send(everyone["keeper"], keeper.name).status_code == 303
    assert not CostEntry.objects.exists()


def test_the_only_coordinator_stays(everyone: dict[str, Client], coordinator: Member) -> None:
    assert "is the only coordinator" in text_of(send(everyone["coordinator"], coordinator.name))
    coordinator.refresh_from_db()
    assert not coordinator.erased_at


def test_they_are_signed_out_told_and_cannot_come_in_again(
    everyone: dict[str, Client], stranger: Member, smtp_server: MailServer, django_capture_on_commit_callbacks: Any
) -> None:
    with django_capture_on_commit_callbacks(execute=True):
        answer = send(everyone["stranger"], f"  {stranger.name.upper()} ")
    assert answer.headers["Location"] == reverse("account_login")
    assert everyone["stranger"].get(reverse("costing:home")).status_code == 302
    [mail] = smtp_server.wait_for(1)
    assert mail["To"] == "stranger@book.example"
    assert "cannot be undone" in mail.get_content()
    stranger.refresh_from_db()
    assert not stranger.is_active
    assert not stranger.has_usable_password()


def test_every_coordinator_is_told_that_it_happened_and_not_to_whom(
    everyone: dict[str, Client], stranger: Member
) -> None:
    name = stranger.name
    send(everyone["stranger"], name)
    page = text_of(everyone["coordinator"].get(reverse("instructors:record")))
    assert "A former member: all that was theirs erased, at their request" in page
    assert name not in page
