"""How passwords are taken, kept and checked: as typed, for as long as their owner likes, and never in clear."""

import re
from datetime import timedelta

import pytest
import time_machine
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from django.utils.module_loading import import_string

from config import settings as real_settings
from instructors.models import Invitation, Member
from instructors.queries import token_digest
from tests.factories import InvitationFactory
from tests.flows.test_signing_in import LOGIN, PASSWORD, is_signed_in
from tests.instructors.test_accept_invitation import LINK, LINK_END
from tests.instructors.test_session_list import PC, signed_in_on

#: Spaces at both ends, small and large, letters that can be written in two ways, and longer than what some hashes see.
AS_TYPED = "  Sieben nasse Bördsteine, 7 wet kerbs, " + "and so on " * 6
OTHERWISE = [AS_TYPED.strip(), AS_TYPED.lower(), AS_TYPED[:72], AS_TYPED[:64], AS_TYPED + " "]

PASSWORDS = {"password", "oldpassword", "password1", "password2"}


def opens(member: Member, password: str) -> bool:
    client = Client()
    client.post(LOGIN, {"login": member.email, "password": password})
    return is_signed_in(client)


@pytest.mark.parametrize("way", ["change", "invitation"])
def test_a_password_is_taken_and_checked_exactly_as_typed(way: str, keeper: Member) -> None:
    if way == "change":
        sent = {"oldpassword": PASSWORD, "password1": AS_TYPED, "password2": AS_TYPED}
        signed_in_on(keeper, PC).post(reverse("account_change_password"), sent)
        member = keeper
    else:
        expires = timezone.now() + timedelta(days=1)
        InvitationFactory(email="new@book.example", token_digest=token_digest(LINK_END), expires_at=expires)
        Client().post(LINK, {"name": "Bo", "password": AS_TYPED})
        member = Member.objects.get(email="new@book.example")
    assert opens(member, AS_TYPED)
    assert [word for word in OTHERWISE[:4] if opens(member, word)] == []


def test_the_old_password_is_asked_for(keeper: Member) -> None:
    new = "another fairly long one 8"
    client = signed_in_on(keeper, PC)
    for old in ({}, {"oldpassword": ""}, {"oldpassword": "not this one at all"}):
        client.post(reverse("account_change_password"), old | {"password1": new, "password2": new})
    keeper.refresh_from_db()
    assert keeper.check_password(PASSWORD)


def test_a_password_does_not_run_out(keeper: Member) -> None:
    signed_in_on(keeper, PC)
    with time_machine.travel(timezone.now() + timedelta(days=3 * 365)):
        assert opens(keeper, PASSWORD)


def test_its_fields_hide_it_and_leave_password_managers_alone(keeper: Member, client: Client) -> None:
    invitation: Invitation = InvitationFactory(
        token_digest=token_digest(LINK_END), expires_at=timezone.now() + timedelta(days=1)
    )
    assert invitation.pk
    pages = [client.get(LOGIN), client.get(LINK)]
    client = signed_in_on(keeper, PC)
    pages += [client.get(reverse("account_change_password")), client.get(reverse("account_reauthenticate"))]
    for page in pages:
        fields = re.findall(r"<input[^>]*name=\"\w*password\w*\"[^>]*>", page.content.decode())
        assert fields, page.request["PATH_INFO"]
        for field in fields:
            assert 'type="password"' in field
            assert re.search(r'autocomplete="(current|new)-password"', field), field
            assert not re.search(r"\bon\w+=|readonly|maxlength", field), field
        # Nothing but a name, an address, passwords and passkeys: no hint, no question about one's mother.
        asked = set(re.findall(r"<(?:input|select|textarea)[^>]*name=\"(\w+)\"", page.content.decode()))
        assert asked <= {"csrfmiddlewaretoken", "login", "next", "name", "email", "credential", *PASSWORDS}, asked


def test_a_new_book_has_no_account_that_somebody_could_know(db: None) -> None:
    assert not Member.objects.exists()


def test_it_is_kept_as_argon2id_with_what_is_advised_at_least() -> None:
    kept = import_string(real_settings.PASSWORD_HASHERS[0])().encode(PASSWORD, "salt-of-a-test")
    memory, rounds = map(int, re.search(r"\$argon2id\$v=19\$m=(\d+),t=(\d+),", kept).groups())
    assert memory >= 19 * 1024
    assert rounds >= 2
    assert PASSWORD not in kept
