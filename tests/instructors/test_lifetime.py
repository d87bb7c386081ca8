"""How long a sign-in is good for, and that its key is a new one after each time that somebody shows who they are."""

from collections.abc import Iterator
from datetime import timedelta
from typing import Any

import pytest
import time_machine
from django.contrib.sessions.models import Session
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from instructors.models import Member
from instructors.queries import sessions_of, token_digest
from tests.factories import InvitationFactory
from tests.instructors.test_accept_invitation import CHOSEN, LINK, LINK_END
from tests.instructors.test_session_list import PASSWORD, PC, SESSIONS, signed_in_on

Clock = Any  # of time-machine, which does not name its type
HOURS = reverse("fleet:reminder-choices")
AGAIN = reverse("account_reauthenticate")


@pytest.fixture
def clock() -> Iterator[Clock]:
    with time_machine.travel(timezone.now(), tick=False) as clock:
        yield clock


def is_signed_in(client: Client) -> bool:
    return client.get(SESSIONS).status_code == 200


def use(client: Client) -> None:
    """Save something, after which the session is kept anew with its message."""
    before = client.session.get_expiry_date()
    client.post(HOURS, {"hour": "7", "wants_reminders": "on"}, follow=True)
    assert client.session.get_expiry_date() >= before


def test_a_browser_that_is_not_used_for_two_months_is_signed_out(keeper: Member, clock: Clock) -> None:
    client = signed_in_on(keeper, PC)
    clock.shift(timedelta(days=59))
    assert is_signed_in(client)
    clock.shift(timedelta(days=1, seconds=1))
    assert not is_signed_in(client)


def test_one_that_is_used_all_the_time_is_signed_out_after_two_months_too(keeper: Member, clock: Clock) -> None:
    client = signed_in_on(keeper, PC)
    for _ in range(5):
        clock.shift(timedelta(days=11))
        session = client.session
        session["anything"] = str(timezone.now())
        session.save()
        use(client)
        assert is_signed_in(client)
    clock.shift(timedelta(days=6))
    assert client.session.get_expiry_date() > timezone.now()
    assert not is_signed_in(client)
    assert sessions_of(keeper) == []


def test_showing_again_who_one_is_begins_two_months_anew(keeper: Member, clock: Clock) -> None:
    client = signed_in_on(keeper, PC)
    clock.shift(timedelta(days=50))
    client.post(AGAIN, {"password": PASSWORD})
    clock.shift(timedelta(days=50))
    assert is_signed_in(client)


def test_so_it_is_with_whoever_joined_by_an_invitation(db: None, clock: Clock) -> None:
    InvitationFactory(token_digest=token_digest(LINK_END), expires_at=timezone.now() + timedelta(days=1))
    client = Client()
    client.post(LINK, CHOSEN)
    assert is_signed_in(client)
    clock.shift(timedelta(days=40))
    use(client)
    clock.shift(timedelta(days=21))
    assert not is_signed_in(client)


def test_showing_again_who_one_is_gives_the_session_another_key(keeper: Member, clock: Clock) -> None:
    client = signed_in_on(keeper, PC)
    client.get(SESSIONS)
    before = client.session.session_key
    clock.shift(timedelta(minutes=20))
    client.post(AGAIN, {"password": "not this one at all"})
    assert client.session.session_key == before
    client.post(AGAIN, {"password": PASSWORD})
    assert client.session.session_key != before
    assert not Session.objects.filter(session_key=before).exists()
    assert [row["is_this_one"] for row in client.get(SESSIONS).context["sessions"]] == [True]
    stolen = Client()
    stolen.cookies["sessionid"] = before
    assert not is_signed_in(stolen)


def test_a_member_may_be_signed_in_on_as_many_browsers_as_they_like(keeper: Member) -> None:
    clients = [signed_in_on(keeper, PC) for _ in range(12)]
    assert all(is_signed_in(client) for client in clients)
    assert len(sessions_of(keeper)) == 12
