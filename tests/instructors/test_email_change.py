"""The page /account/email/: asking for another address to sign in with."""

from datetime import date

import pytest
from django.test import Client
from django.urls import reverse

from instructors.models import Member
from instructors.signing_in.limits import NEW_ADDRESSES_BY_MEMBER
from tests.factories import InvitationFactory, MemberFactory
from tests.flows.test_signing_in import code_in
from tests.instructors.test_session_list import PC, signed_in_on
from tests.mailserver import MailServer

CHANGE, CONFIRM = reverse("instructors:email-change"), reverse("instructors:email-confirm")
NEW = "wren@elsewhere.example"


@pytest.mark.parametrize("typed", [NEW, "Wren@Elsewhere.Example"])
def test_a_code_goes_to_the_new_address_and_nothing_changes_yet(
    keeper: Member, smtp_server: MailServer, typed: str
) -> None:
    response = signed_in_on(keeper, PC).post(CHANGE, {"email": typed})
    assert response.url == CONFIRM
    [mail] = smtp_server.wait_for(1)
    assert mail["To"] == NEW
    assert code_in(mail)
    keeper.refresh_from_db()
    assert keeper.email == "keeper@book.example"


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        ("colleague@book.example", "somebody in the co-op has it"),
        ("Colleague@Book.Example", "somebody in the co-op has it"),
        ("gone@book.example", "somebody in the co-op has it"),
        ("INVITED@book.example", "has been invited by it"),
        ("Keeper@book.example", "this address already"),
        ("no address", "is not an e-mail address"),
    ],
)
def test_what_is_anothers_is_refused_and_kept(
    keeper: Member, colleague: Member, smtp_server: MailServer, typed: str, why: str
) -> None:
    InvitationFactory(email="invited@book.example")
    MemberFactory(email="gone@book.example", left_on=date(2025, 1, 31))
    form = signed_in_on(keeper, PC).post(CHANGE, {"email": typed}).context["form"]
    assert why in form.errors["email"][0]
    assert form["email"].value() == typed
    assert smtp_server.all_sent() == []


@pytest.mark.parametrize("address", [CHANGE, CONFIRM])
def test_whoever_signed_in_long_ago_shows_first_that_it_is_them(keeper: Member, client: Client, address: str) -> None:
    keeper.set_password("a long enough phrase 7")
    keeper.save()
    client.force_login(keeper)  # which leaves no word of when
    assert client.get(address).url.startswith(reverse("account_reauthenticate"))
    assert client.post(address, {"email": NEW}).url.startswith(reverse("account_reauthenticate"))


def test_a_member_asks_for_a_few_codes_a_day(keeper: Member, smtp_server: MailServer) -> None:
    client = signed_in_on(keeper, PC)
    statuses = [
        client.post(CHANGE, {"email": f"{number}@elsewhere.example"}).status_code
        for number in range(NEW_ADDRESSES_BY_MEMBER.most + 3)
    ]
    assert statuses == [303] * NEW_ADDRESSES_BY_MEMBER.most + [429] * 3
    assert len(smtp_server.all_sent()) == NEW_ADDRESSES_BY_MEMBER.most


@pytest.mark.parametrize("address", [CHANGE, CONFIRM])
def test_somebody_not_signed_in_is_sent_to_sign_in(client: Client, db: None, address: str) -> None:
    assert client.get(address).url.startswith(reverse("account_login"))
    assert client.post(address, {"email": NEW}).url.startswith(reverse("account_login"))
