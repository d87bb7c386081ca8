"""Signing out everywhere but here."""

from django.test import Client
from django.urls import reverse

from instructors.models import Member
from instructors.queries import sessions_of
from tests.instructors.test_session_list import PC, PHONE, SESSIONS, signed_in_on

END_OTHERS = reverse("instructors:session-end-others")


def test_all_others_of_ones_own_are_ended_and_nobody_elses(keeper: Member, colleague: Member) -> None:
    phone, laptop, pc = (signed_in_on(keeper, agent) for agent in (PHONE, PC, PC))
    theirs = signed_in_on(colleague, PHONE)
    assert "everywhere but here" in pc.post(END_OTHERS, follow=True).content.decode()
    assert [client.get(SESSIONS).status_code for client in (phone, laptop, pc, theirs)] == [302, 302, 200, 200]
    assert len(sessions_of(keeper)) == 1


def test_somebody_not_signed_in_ends_nothing(keeper: Member, client: Client) -> None:
    phone = signed_in_on(keeper, PHONE)
    assert client.post(END_OTHERS).url.startswith(reverse("account_login"))
    assert phone.get(SESSIONS).status_code == 200


def test_looking_at_the_address_ends_nothing(keeper: Member) -> None:
    phone, pc = signed_in_on(keeper, PHONE), signed_in_on(keeper, PC)
    assert pc.get(END_OTHERS).status_code == 405
    assert phone.get(SESSIONS).status_code == 200
