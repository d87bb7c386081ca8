"""The page /people/7/erase/: a coordinator erases a former member, who asked for it."""

from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from instructors.actions import record_leaving
from instructors.models import Act, Member
from tests.costing.pages import text_of
from tests.instructors.test_session_list import PC, signed_in_on

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today")]
TODAY = date(2026, 3, 16)


@pytest.fixture
def everyone(keeper: Member, colleague: Member, coordinator: Member, stranger: Member) -> dict[str, Client]:
    """The cast, each of whom has just signed in."""
    cast = {"keeper": keeper, "colleague": colleague, "coordinator": coordinator, "stranger": stranger}
    return {name: signed_in_on(member, PC) for name, member in cast.items()} | {"anonymous": Client()}


@pytest.fixture
def gone(stranger: Member) -> Member:
    """A member whose last day was 28 days ago."""
    Member.objects.filter(pk=stranger.pk).update(left_on=TODAY - timedelta(days=28))
    stranger.refresh_from_db()
    return stranger


def page_of(member: Member) -> str:
    return reverse("instructors:member-erase", args=[member.pk])


def erased(client: Client, member: Member) -> Any:
    return client.post(page_of(member), {"typed": member.name})


def test_it_is_for_coordinators(everyone: dict[str, Client], gone: Member) -> None:
    for who in ("keeper", "colleague"):
        assert everyone[who].get(page_of(gone)).status_code == 404
        assert erased(everyone[who], gone).status_code == 404
    gone.refresh_from_db()
    assert not gone.erased_at


def test_a_former_member_is_erased_and_on_no_page_of_people_any_more(everyone: dict[str, Client], gone: Member) -> None:
    change = reverse("instructors:member-change", args=[gone.pk])
    assert page_of(gone) in everyone["coordinator"].get(change).content.decode()
    assert "It can be done from 16 March 2026 on" in text_of(everyone["coordinator"].get(page_of(gone)))
    assert erased(everyone["coordinator"], gone).status_code == 303
    people = text_of(everyone["coordinator"].get(reverse("instructors:people")))
    assert gone.name not in people
    assert "former member" not in people.lower()
    for address in (change, page_of(gone), reverse("fleet:member-leave", args=[gone.pk])):
        assert everyone["coordinator"].get(address).status_code == 404
    act = Act.objects.get(field="erased")
    assert (act.about, act.was, act.now) == ("A former member", "", "")


def test_nobody_who_has_not_left_is_erased(everyone: dict[str, Client], keeper: Member) -> None:
    assert "has not left" in text_of(erased(everyone["coordinator"], keeper))
    keeper.refresh_from_db()
    assert not keeper.erased_at


def test_there_are_28_days_to_object_from_when_they_were_told(
    everyone: dict[str, Client], gone: Member, coordinator: Member
) -> None:
    """A coordinator could else record a last day far back, and erase whomever they like."""
    record_leaving(by=coordinator, member=gone, left_on=TODAY - timedelta(days=300))
    assert "This can be done from 13 April 2026 on" in text_of(erased(everyone["coordinator"], gone))
    gone.refresh_from_db()
    assert not gone.erased_at
