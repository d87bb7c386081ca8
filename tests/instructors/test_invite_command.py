"""``manage.py invite``: how the first coordinator comes into a new book."""

import json
import re
from collections.abc import Callable
from io import StringIO
from urllib.parse import urlsplit

import pytest
from django.core.management import call_command
from django.test import Client

from config.commands import DataSaysNo
from instructors.models import Invitation, Member, Role
from tests.factories import InvitationFactory, MemberFactory
from tests.mailserver import MailServer

ADDRESS = "ann@book.example"

# Making a link is durable: it may stand in no transaction of a test's.
pytestmark = pytest.mark.django_db(transaction=True)


def invite(*arguments: str) -> str:
    printed = StringIO()
    call_command("invite", *arguments, stdout=printed, stderr=printed)
    return printed.getvalue()


def joined_with(link: str) -> Member:
    path = urlsplit(link).path
    client = Client()
    assert "Whoever runs the book invites you" in client.get(path).content.decode()
    answer = client.post(path, {"name": "Ann Applegarth", "password": "a long enough phrase 7"})
    assert answer.status_code == 303
    return Member.objects.get(email=ADDRESS)


def test_the_first_coordinator_joins_by_the_link_that_is_printed(smtp_server: MailServer) -> None:
    link, words, *_ = invite(ADDRESS, "--coordinator").splitlines()
    assert re.fullmatch(
        r"Whoever opens this link joins as a coordinator, once, until .+\. Nothing was mailed: .+", words
    )
    assert smtp_server.messages == []
    assert joined_with(link).role == Role.COORDINATOR


def test_without_the_word_it_is_a_member_who_is_invited() -> None:
    assert joined_with(json.loads(invite(ADDRESS, "--json"))["link"]).role == Role.MEMBER


def test_where_mail_is_sent_the_link_goes_out_too(settings, smtp_server: MailServer) -> None:
    settings.EMAIL_IS_SENT = True
    told = json.loads(invite(ADDRESS.upper(), "--coordinator", "--name", "Ann", "--json"))
    assert told == {"email": ADDRESS, "role": "coordinator", "link": told["link"], "mailed": True}
    [message] = smtp_server.messages
    assert message["To"] == ADDRESS
    text = message.get_body(["plain"]).get_content()
    assert "Hello Ann," in text
    assert told["link"] in text


def test_where_the_mail_server_takes_nothing_the_link_is_printed_all_the_same(
    settings, smtp_server: MailServer
) -> None:
    settings.EMAIL_IS_SENT = True
    smtp_server.refuse_next(1)
    said = invite(ADDRESS)
    assert "The mail server did not take the invitation: 451" in said
    assert "Nothing was mailed" in said
    joined_with(re.search(r"^http\S+$", said, re.MULTILINE)[0])


def test_a_second_time_it_is_the_same_invitation_with_a_new_link(coordinator: Member) -> None:
    invitation = InvitationFactory(email=ADDRESS, invited_by=coordinator, role=Role.MEMBER)
    first, second = (invite(ADDRESS, "--coordinator").splitlines()[0] for _ in range(2))
    assert Client().get(urlsplit(first).path).status_code == 404
    assert Client().get(urlsplit(second).path).status_code == 200
    [kept] = Invitation.objects.all()
    assert (kept.pk, kept.role, kept.invited_by) == (invitation.pk, Role.COORDINATOR, coordinator)


def test_a_member_is_not_invited_again() -> None:
    MemberFactory(email=ADDRESS, name="Ann Applegarth")
    with pytest.raises(DataSaysNo, match="Ann Applegarth, who is already a member"):
        invite(ADDRESS)
    assert not Invitation.objects.exists()


def test_the_people_page_says_where_the_invitation_came_from(client_of: Callable, coordinator: Member) -> None:
    invite(ADDRESS)
    assert "Invited by a command on the server on" in client_of(coordinator).get("/people/").content.decode()
