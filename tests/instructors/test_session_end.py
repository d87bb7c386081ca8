"""Signing out on another of one's browsers."""

import pytest
from django.core.exceptions import PermissionDenied
from django.test import Client
from django.urls import reverse

from instructors.models import Member
from instructors.queries import sessions_of
from instructors.signing_in.actions import end_sessions
from tests.instructors.test_session_list import PASSWORD, PC, PHONE, SESSIONS, signed_in_on


def end_of(session: object) -> str:
    return reverse("instructors:session-end", args=[session.pk])


def other_session(member: Member, client: Client) -> object:
    [other] = [one for one in sessions_of(member) if one.session_key != client.session.session_key]
    return other


def test_one_is_ended_and_the_others_stay(keeper: Member) -> None:
    phone, pc = signed_in_on(keeper, PHONE), signed_in_on(keeper, PC)
    response = pc.post(end_of(other_session(keeper, pc)), follow=True)
    assert "Signed out on a phone or tablet." in response.content.decode()
    assert phone.get(SESSIONS).status_code == 302
    assert pc.get(SESSIONS).status_code == 200


def test_whoever_signed_in_long_ago_shows_first_that_it_is_them(keeper: Member) -> None:
    phone, pc = signed_in_on(keeper, PHONE), Client()
    pc.force_login(keeper)  # which leaves no word of when
    pc.get(SESSIONS)
    response = pc.post(end_of(other_session(keeper, pc)))
    assert response.url.startswith(reverse("account_reauthenticate"))
    assert phone.get(SESSIONS).status_code == 200
    pc.post(response.url, {"password": PASSWORD})
    assert phone.get(SESSIONS).status_code == 302


def test_this_one_is_not_ended_so(keeper: Member) -> None:
    pc = signed_in_on(keeper, PC)
    [own] = sessions_of(keeper)
    assert pc.post(end_of(own)).status_code == 404
    assert pc.get(SESSIONS).status_code == 200


@pytest.mark.parametrize("who", ["colleague", "coordinator", "stranger"])
def test_no_other_members_is_there(request: pytest.FixtureRequest, keeper: Member, who: str) -> None:
    phone = signed_in_on(keeper, PHONE)
    [session] = sessions_of(keeper)
    other = request.getfixturevalue(who)
    assert signed_in_on(other, PC).post(end_of(session)).status_code == 404
    assert phone.get(SESSIONS).status_code == 200
    with pytest.raises(PermissionDenied):
        end_sessions(by=other, sessions=[session])


def test_somebody_not_signed_in_ends_nothing(keeper: Member, client: Client) -> None:
    phone = signed_in_on(keeper, PHONE)
    [session] = sessions_of(keeper)
    assert client.post(end_of(session)).url.startswith(reverse("account_login"))
    assert phone.get(SESSIONS).status_code == 200


def test_looking_at_the_address_ends_nothing(keeper: Member) -> None:
    phone, pc = signed_in_on(keeper, PHONE), signed_in_on(keeper, PC)
    assert pc.get(end_of(other_session(keeper, pc))).status_code == 405
    assert phone.get(SESSIONS).status_code == 200
