"""Sending an invitation once more."""

import re
from datetime import UTC, date, datetime

import pytest
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

from instructors.models import Invitation
from instructors.signing_in.limits import MAILS_OF_INVITATION
from tests.factories import InvitationFactory
from tests.mailserver import MailServer


def send(client: Client, invitation: Invitation) -> HttpResponse:
    return client.post(reverse("instructors:invitation-send", args=[invitation.pk]))


def links(smtp_server: MailServer) -> list[str]:
    return [
        re.search(r"/invitation/[\w-]+/", message.get_body(("plain",)).get_content())[0]  # type: ignore[index]
        for message in smtp_server.messages
    ]


@pytest.mark.parametrize(
    ("who", "status"), [("keeper", 404), ("colleague", 404), ("stranger", 404), ("anonymous", 302)]
)
def test_only_a_coordinator_sends(everyone: dict[str, Client], smtp_server: MailServer, who: str, status: int) -> None:
    assert send(everyone[who], InvitationFactory()).status_code == status
    assert not smtp_server.messages


def test_a_get_sends_nothing(everyone: dict[str, Client], smtp_server: MailServer) -> None:
    path = reverse("instructors:invitation-send", args=[InvitationFactory().pk])
    assert everyone["coordinator"].get(path).status_code == 405
    assert not smtp_server.messages


def test_the_newest_link_works_for_fourteen_more_days_and_the_older_no_more(
    today: date, everyone: dict[str, Client], smtp_server: MailServer
) -> None:
    invitation = InvitationFactory(expires_at="2026-03-01T09:00Z")
    send(everyone["coordinator"], invitation)
    send(everyone["coordinator"], invitation)
    older, newest = links(smtp_server)
    assert everyone["anonymous"].get(older).status_code == 404
    assert everyone["anonymous"].get(newest).status_code == 200
    invitation.refresh_from_db()
    assert invitation.expires_at == datetime(2026, 3, 30, 12, tzinfo=UTC)


@pytest.mark.parametrize("over", ["accepted_at", "withdrawn_at"])
def test_an_invitation_that_is_over_is_not_sent(
    everyone: dict[str, Client], smtp_server: MailServer, over: str
) -> None:
    invitation = InvitationFactory(**{over: "2026-03-12T09:00Z"})
    send(everyone["coordinator"], invitation)
    assert not smtp_server.messages
    page = everyone["coordinator"].get(reverse("instructors:people")).content.decode()
    assert ("has accepted" if over == "accepted_at" else "has been withdrawn") in page


def test_one_invitation_is_sent_a_few_times_a_day_and_another_all_the_same(
    today: date, everyone: dict[str, Client], smtp_server: MailServer
) -> None:
    invitation, other = InvitationFactory(), InvitationFactory()
    most = MAILS_OF_INVITATION.most
    responses = [send(everyone["coordinator"], invitation) for _ in range(most + 3)]
    assert [one.status_code for one in responses] == [303] * most + [429] * 3
    assert "Too many tries" in responses[-1].content.decode()
    assert responses[-1].headers["Retry-After"] == "86400"
    assert len(smtp_server.messages) == most
    # The link that was sent last still works.
    assert everyone["anonymous"].get(links(smtp_server)[-1]).status_code == 200
    assert send(everyone["coordinator"], other).status_code == 303
