"""No words of a member become a header, or an address, of a mail."""

import pytest
from django.test import Client
from django.urls import reverse

from instructors.models import Cooperative, Member
from tests.factories import CooperativeFactory, InvitationFactory
from tests.flows.test_signing_in import REQUEST_CODE
from tests.mailserver import MailServer

BREAK = "\r\nBcc: somebody@elsewhere.example"


@pytest.mark.parametrize("break_", [BREAK, "\nBcc: x@elsewhere.example", "\rX: y"])
def test_a_name_with_a_line_break_adds_no_header(
    break_: str, everyone: dict[str, Client], coordinator: Member, smtp_server: MailServer
) -> None:
    CooperativeFactory()
    Cooperative.objects.update(name=f"Three Valleys{break_}")
    Member.objects.filter(pk=coordinator.pk).update(name=f"Zdzisława{break_}")
    # No form takes such a name; an archive may bring one.
    invitation = InvitationFactory(email="new@book.example", name=f"Bo{break_}")
    answer = everyone["coordinator"].post(reverse("instructors:invitation-send", args=[invitation.pk]))
    assert answer.status_code in {200, 303}
    for mail in smtp_server.all_sent():
        assert (mail["To"], mail["Bcc"], mail["X"]) == ("new@book.example", None, None)
    assert len(smtp_server.messages) == 1


@pytest.mark.parametrize("address", [f"keeper@book.example{BREAK}", "keeper@book.example, x@elsewhere.example"])
def test_an_address_is_one_address(address: str, keeper: Member, smtp_server: MailServer) -> None:
    assert Client().post(REQUEST_CODE, {"email": address}).status_code == 200
    assert smtp_server.all_sent() == []
