"""Whoever tries too often is sent away for a while, and nobody else."""

import re
import socket
import time
from collections.abc import Iterator
from datetime import date
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from instructors.models import Act, Member
from instructors.signing_in import limits
from instructors.signing_in.devices import COOKIE
from tests.costing.pages import text_of
from tests.flows.test_signing_in import CONFIRM_CODE, HOME, LOGIN, PASSWORD, REQUEST_CODE, code_in
from tests.mailserver import MailServer

pytestmark = pytest.mark.usefixtures("db")

RESET = reverse("account_reset_password")
WRONG = "not this one at all"


@pytest.fixture
def member(keeper: Member) -> Member:
    keeper.set_password(PASSWORD)
    keeper.save()
    return keeper


@pytest.fixture
def known_device(member: Member) -> Client:
    """A browser in which the member has signed in before and out again."""
    client = Client()
    client.post(LOGIN, {"login": member.email, "password": PASSWORD})
    client.post(reverse("account_logout"))
    return client


def from_address(address: str) -> Client:
    return Client(REMOTE_ADDR=address)


def try_password(client: Client, email: str, password: str = WRONG) -> int:
    """The status of the answer: 302 who is let in, 200 who is wrong, 429 who has to wait."""
    return client.post(LOGIN, {"login": email, "password": password}).status_code


def test_wrong_tries_of_a_stranger_do_not_keep_the_owner_out_of_a_known_device(
    member: Member, known_device: Client
) -> None:
    """The same address of the network even, as behind a proxy that is not trusted."""
    stranger = Client()
    for number in range(60):
        try_password(stranger, member.email if number % 2 else f"nobody{number}@book.example")
    assert try_password(stranger, member.email) == 429
    assert try_password(known_device, member.email, PASSWORD) == 302


def test_wrong_tries_of_a_stranger_do_not_keep_the_owner_out_elsewhere(member: Member) -> None:
    stranger = from_address("192.0.2.1")
    for _ in range(limits.TRIES_BY_CLIENT_AT_ADDRESS.most):
        assert try_password(stranger, member.email) == 200
    assert try_password(stranger, member.email, PASSWORD) == 429
    assert try_password(from_address("192.0.2.2"), member.email, PASSWORD) == 302


def test_refused_tries_stand_in_the_members_record_once_an_hour(member: Member) -> None:
    """Written down for the member, by nobody who is known; whoever keeps at it cannot fill the record."""
    for address in ("192.0.2.1", "192.0.2.2"):
        for _ in range(limits.TRIES_BY_CLIENT_AT_ADDRESS.most + 2):
            try_password(from_address(address), member.email.upper())
    act = Act.objects.get(concerns=member)
    assert (act.field, act.by, act.mail) == ("sign_in_refused", None, None)
    try_password(from_address("192.0.2.1"), "nobody@book.example")


def test_strangers_all_together_have_so_many_tries_at_one_address(member: Member, known_device: Client) -> None:
    tries = 0
    for number in range(100):
        stranger = from_address(f"198.51.100.{number}")
        while try_password(stranger, member.email) == 200:
            tries += 1
    assert tries == limits.TRIES_BY_STRANGERS_AT_ADDRESS.most
    assert try_password(known_device, member.email, PASSWORD) == 302


def test_one_stranger_has_so_many_tries_at_all_addresses_together(db: None) -> None:
    stranger = from_address("192.0.2.1")
    statuses = [try_password(stranger, f"nobody{number}@book.example") for number in range(40)]
    assert statuses.count(200) == limits.TRIES_BY_CLIENT.most


def test_a_known_device_has_its_own_limit_and_is_no_way_round_it_for_others(
    member: Member, colleague: Member, known_device: Client
) -> None:
    for _ in range(limits.TRIES_ON_DEVICE.most):
        assert try_password(known_device, member.email) == 200
    assert try_password(known_device, member.email, PASSWORD) == 429
    # At anybody else's address it is a stranger.
    for _ in range(limits.TRIES_BY_CLIENT_AT_ADDRESS.most):
        assert try_password(known_device, colleague.email) == 200
    assert try_password(known_device, colleague.email) == 429


def test_a_cookie_of_ones_own_making_makes_no_known_device(member: Member, known_device: Client) -> None:
    stranger = Client()
    stranger.cookies[COOKIE] = known_device.cookies[COOKIE].value + "x"
    statuses = [try_password(stranger, member.email) for _ in range(limits.TRIES_BY_CLIENT_AT_ADDRESS.most + 1)]
    assert statuses[-1] == 429


def test_the_device_is_remembered_by_a_cookie_that_no_script_reads(member: Member, known_device: Client) -> None:
    cookie = known_device.cookies[COOKIE]
    assert cookie["httponly"]
    assert cookie["samesite"] == "Lax"
    assert member.email not in cookie.value


def test_right_passwords_use_nothing_up(member: Member) -> None:
    for _ in range(limits.TRIES_BY_CLIENT_AT_ADDRESS.most * 2):
        assert try_password(Client(), member.email, PASSWORD) == 302


def test_the_refusal_says_when_and_offers_other_ways(member: Member, smtp_server: MailServer) -> None:
    stranger = Client()
    for _ in range(limits.TRIES_BY_CLIENT_AT_ADDRESS.most):
        try_password(stranger, member.email)
    response = stranger.post(LOGIN, {"login": member.email, "password": PASSWORD})
    assert 0 < int(response["Retry-After"]) <= 900
    page = text_of(response)
    # Shortly before midnight the quarter of an hour ends tomorrow.
    assert re.search(r"You can try again (in \d+ minutes?, at|tomorrow at) \d\d:\d\d", page)
    # One tap sends a code to the address that was typed.
    assert f'name="email" value="{member.email}"' in response.content.decode()
    stranger.post(REQUEST_CODE, {"email": member.email})
    stranger.post(CONFIRM_CODE, {"code": code_in(smtp_server.wait_for(1)[0])})
    assert stranger.get(HOME).status_code == 200


def test_whoever_is_signed_in_cannot_try_passwords_either(member: Member) -> None:
    client = Client()
    client.force_login(member)
    change = {"oldpassword": WRONG, "password1": "some other long words", "password2": "some other long words"}
    statuses = [client.post(reverse("account_change_password"), change).status_code for _ in range(3)]
    statuses += [client.post(reverse("account_reauthenticate"), {"password": WRONG}).status_code for _ in range(3)]
    assert statuses == [200, 200, 200, 200, 200, 429]
    refused = text_of(client.post(reverse("account_reauthenticate"), {"password": WRONG}))
    assert "Back to my page" in refused
    assert "nobody has got in" not in refused, "which the page cannot know"


# --- Codes -----------------------------------------------------------------------------------------------


def test_a_code_is_tried_three_times_even_by_many_at_once(member: Member, smtp_server: MailServer) -> None:
    """What is counted in the session is read by all of them before one writes; here the session is put back."""
    client = Client()
    client.post(REQUEST_CODE, {"email": member.email})
    code = code_in(smtp_server.wait_for(1)[0])
    before = dict(client.session.items())
    for _ in range(limits.TRIES_AT_CODE.most):
        client.post(CONFIRM_CODE, {"code": "BCDF-GHJK"})
        session = client.session
        session.update(before)
        session.save()
    client.post(CONFIRM_CODE, {"code": code})
    assert client.get(HOME).status_code == 302


def test_a_stranger_who_asks_for_codes_uses_up_none_of_the_owners(
    member: Member, known_device: Client, smtp_server: MailServer
) -> None:
    for number in range(40):
        from_address(f"198.51.100.{number}").post(REQUEST_CODE, {"email": member.email})
    assert len(smtp_server.all_sent()) == limits.MAILS_BY_STRANGERS_TO_ADDRESS.most
    assert known_device.post(REQUEST_CODE, {"email": member.email}).status_code == 302
    assert len(smtp_server.all_sent()) == limits.MAILS_BY_STRANGERS_TO_ADDRESS.most + 1


# --- Mails -----------------------------------------------------------------------------------------------


def test_a_stranger_causes_no_mail_to_strangers(client: Client, db: None, smtp_server: MailServer) -> None:
    for number in range(9):
        client.post(REQUEST_CODE, {"email": f"nobody{number}@book.example"})
        client.post(RESET, {"email": f"nobody{number}@book.example"})
    assert smtp_server.all_sent() == []


@pytest.mark.parametrize("address", [REQUEST_CODE, RESET])
def test_one_client_causes_few_mails(member: Member, smtp_server: MailServer, address: str) -> None:
    stranger = from_address("192.0.2.1")
    statuses = [stranger.post(address, {"email": member.email}).status_code for _ in range(8)]
    assert statuses == [302] * 3 + [429] * 5
    assert len(smtp_server.all_sent()) == 3


@pytest.mark.parametrize("address", [REQUEST_CODE, RESET])
def test_whoever_invents_addresses_holds_back_no_members_mail(
    member: Member, smtp_server: MailServer, address: str
) -> None:
    """As many clients as one stranger has at hand, each until it is refused."""
    for client in range(12):
        stranger, number = from_address(f"198.51.100.{client}"), 0
        while stranger.post(address, {"email": f"nobody{client}.{number}@book.example"}).status_code == 302:
            number += 1
        assert number == limits.MAILS_BY_CLIENT.most
    assert from_address("192.0.2.1").post(address, {"email": member.email}).status_code == 302
    [message] = smtp_server.all_sent()
    assert message["To"] == member.email


def answers_to_many(email: str) -> list[tuple[int, str]]:
    """Status and Retry-After of each answer while clients ask for codes to one address until all are refused."""
    clients = [from_address(f"198.51.100.{number}") for number in range(11)]
    responses = [client.post(REQUEST_CODE, {"email": email}) for client in clients for _ in range(4)]
    return [(one.status_code, one.headers.get("Retry-After", "")) for one in responses]


def test_a_limit_does_not_tell_who_is_a_member(member: Member, today: date) -> None:
    known, invented = answers_to_many(member.email), answers_to_many("nobody@book.example")
    assert [status for status, _ in known].count(302) == limits.MAILS_BY_STRANGERS_TO_ADDRESS.most
    assert known[-1][0] == 429
    assert invented == known


@pytest.fixture
def silent_mail_server(settings: Any, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """One that takes connections and never says a word; whoever waits for it gives up when it is gone."""
    monkeypatch.setattr("config.mail._TRIES_AFTER", (0,))
    with socket.create_server(("127.0.0.1", 0)) as listening:
        settings.EMAIL_PORT, settings.EMAIL_TIMEOUT = listening.getsockname()[1], 60
        yield


@pytest.mark.usefixtures("silent_mail_server")
@pytest.mark.parametrize("address", [REQUEST_CODE, RESET])
def test_a_slow_mail_server_does_not_tell_who_is_a_member(member: Member, address: str) -> None:
    took = []
    for email in (member.email, "nobody@book.example"):
        started = time.perf_counter()
        assert Client().post(address, {"email": email}).status_code == 302
        took.append(time.perf_counter() - started)
    assert max(took) < 30
