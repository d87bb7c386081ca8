"""The page /people/invite/: inviting somebody by e-mail."""

import re
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from instructors.models import Invitation, Member
from instructors.queries import token_digest
from tests.factories import CooperativeFactory, InvitationFactory, MemberFactory
from tests.mailserver import MailServer

INVITE = reverse("instructors:invite")
ASKED = {"name": "Новий Інструктор", "email": "New.Instructor@Book.example", "grade": "PDI", "role": "member"}


@pytest.mark.parametrize("who", ["keeper", "colleague", "stranger"])
def test_a_member_without_the_role_invites_nobody(
    everyone: dict[str, Client], smtp_server: MailServer, who: str
) -> None:
    assert everyone[who].get(INVITE).status_code == 404
    assert everyone[who].post(INVITE, ASKED).status_code == 404
    assert not Invitation.objects.exists()
    assert not smtp_server.messages


def test_somebody_not_signed_in_is_sent_to_sign_in(everyone: dict[str, Client]) -> None:
    assert everyone["anonymous"].post(INVITE, ASKED).url.startswith(reverse("account_login"))


def test_the_invitation_is_kept_and_sent(
    today: date, everyone: dict[str, Client], coordinator: Member, smtp_server: MailServer
) -> None:
    CooperativeFactory()
    response = everyone["coordinator"].post(INVITE, ASKED)
    assert response.url == reverse("instructors:people")

    invitation = Invitation.objects.get()
    assert (invitation.email, invitation.grade) == ("new.instructor@book.example", "PDI")
    assert invitation.invited_by == coordinator
    assert invitation.expires_at == datetime(2026, 3, 30, 12, tzinfo=UTC)  # 14 days on; 13:00 by the clock

    [message] = smtp_server.messages
    assert message["To"] == "new.instructor@book.example"
    assert message["Subject"] == "Join Three Valleys Tuition Co-op in the Tuition Car Book"
    words = " ".join(message.get_body(("plain",)).get_content().split())
    assert coordinator.name in words
    assert "until 30 March 2026" in words


def test_the_link_in_both_parts_opens_and_only_its_digest_is_stored(
    everyone: dict[str, Client], smtp_server: MailServer, settings: Any
) -> None:
    settings.SITE_URL = "https://book.example"
    everyone["coordinator"].post(INVITE, ASKED)
    [message] = smtp_server.messages
    links = {
        re.search(r"https://book\.example(/invitation/([\w-]{43})/)", message.get_body((part,)).get_content())
        for part in ("plain", "html")
    }
    [(path, token)] = {link.groups() for link in links if link}
    assert everyone["anonymous"].get(path).status_code == 200
    stored = Invitation.objects.values().get()
    assert stored["token_digest"] == token_digest(token)
    assert token not in str(stored)


def test_without_a_mail_server_the_page_says_where_the_mail_lies(
    everyone: dict[str, Client], settings: Any, tmp_path: Path
) -> None:
    settings.EMAIL_BACKEND = "django.core.mail.backends.filebased.EmailBackend"
    settings.EMAIL_FILE_PATH = str(tmp_path)
    page = everyone["coordinator"].post(INVITE, ASKED, follow=True).content.decode()
    assert "was written to a file in the folder “mail”" in page
    [written] = tmp_path.iterdir()
    assert "new.instructor@book.example" in written.read_text()


@pytest.mark.parametrize("why", ["no mail server", "it refuses"])
@pytest.mark.parametrize("by", ["inviting", "sending again"])
def test_a_link_that_no_mail_server_took_is_shown_once_to_hand_over(
    everyone: dict[str, Client], smtp_server: MailServer, settings: Any, tmp_path: Path, why: str, by: str
) -> None:
    if why == "no mail server":
        settings.EMAIL_BACKEND = "django.core.mail.backends.filebased.EmailBackend"
        settings.EMAIL_FILE_PATH = str(tmp_path)
    smtp_server.refusing = True
    client, people = everyone["coordinator"], reverse("instructors:people")
    invitation = InvitationFactory()
    address = INVITE if by == "inviting" else reverse("instructors:invitation-send", args=[invitation.pk])
    answer = client.post(address, ASKED)
    assert answer.status_code == 200
    assert "no-store" in answer.headers["Cache-Control"]
    [link] = re.findall(r"http://localhost:8000(/invitation/[\w-]+/)", answer.content.decode())
    assert "Copy it now" in answer.content.decode()
    # Kept nowhere that a later page or another person could take it from.
    assert link not in str(dict(client.session)) + str(answer.cookies)
    assert link not in client.get(people).content.decode()
    assert link not in client.get(INVITE).content.decode()
    assert everyone["anonymous"].get(link).status_code == 200


def test_a_link_that_was_mailed_is_shown_to_nobody_else(everyone: dict[str, Client], smtp_server: MailServer) -> None:
    page = everyone["coordinator"].post(INVITE, ASKED, follow=True).content.decode()
    assert "Invitation sent to" in page
    assert "/invitation/" not in page


@pytest.mark.parametrize("answer", [False, True])
def test_the_page_says_sent_only_of_what_the_mail_server_took(
    everyone: dict[str, Client], smtp_server: MailServer, answer: bool
) -> None:
    smtp_server.refusing = not answer
    page = everyone["coordinator"].post(INVITE, ASKED, follow=True).content.decode()
    assert ("at new.instructor@book.example." in page) == answer


def test_a_refusing_mail_server_is_told_and_the_invitation_kept(
    everyone: dict[str, Client], smtp_server: MailServer
) -> None:
    smtp_server.refusing = True
    page = everyone["coordinator"].post(INVITE, ASKED, follow=True).content.decode()
    assert "is saved, but the e-mail could not be sent" in page
    assert "Not now, try again later" in page
    invitation = Invitation.objects.get()

    smtp_server.refusing = False
    everyone["coordinator"].post(reverse("instructors:invitation-send", args=[invitation.pk]))
    assert len(smtp_server.messages) == 1


def test_a_second_tap_makes_no_second_invitation(everyone: dict[str, Client], smtp_server: MailServer) -> None:
    everyone["coordinator"].post(INVITE, ASKED)
    response = everyone["coordinator"].post(INVITE, ASKED | {"email": ASKED["email"].upper()})
    assert response.context["form"].errors["email"] == [
        "This address has been invited already: send that invitation again, or withdraw it first."
    ]
    assert Invitation.objects.count() == 1
    assert len(smtp_server.messages) == 1


def test_a_member_is_not_invited_whatever_the_case(everyone: dict[str, Client], keeper: Member) -> None:
    response = everyone["coordinator"].post(INVITE, ASKED | {"email": "Keeper@Book.Example"})
    assert "address of Wren Applegarth, who is already a member" in response.context["form"].errors["email"][0]


def test_somebody_who_has_left_is_brought_back_instead(everyone: dict[str, Client]) -> None:
    MemberFactory(email="back@book.example", name="Back Again", left_on=date(2025, 6, 30))
    response = everyone["coordinator"].post(INVITE, ASKED | {"email": "back@book.example"})
    [why] = response.context["form"].errors["email"]
    assert "Back Again, who left on 30 June 2025" in why


def test_an_address_may_be_invited_anew_after_a_withdrawal(
    everyone: dict[str, Client], smtp_server: MailServer
) -> None:
    InvitationFactory(email=ASKED["email"].lower(), withdrawn_at="2026-03-12T09:00Z")
    assert everyone["coordinator"].post(INVITE, ASKED).status_code == 303


def test_wrong_input_keeps_what_was_typed(everyone: dict[str, Client], smtp_server: MailServer) -> None:
    response = everyone["coordinator"].post(INVITE, ASKED | {"email": "not an address", "role": "coordinator"})
    assert response.status_code == 200
    assert set(response.context["form"].errors) == {"email"}
    page = response.content.decode()
    assert 'value="Новий Інструктор"' in page
    assert 'value="not an address"' in page
    assert response.context["form"]["role"].value() == "coordinator"
    assert not smtp_server.messages


def test_an_address_to_which_no_mail_can_go_is_refused_beside_it(
    everyone: dict[str, Client], smtp_server: MailServer
) -> None:
    response = everyone["coordinator"].post(INVITE, ASKED | {"email": f"ann@{'ü' * 60}.example"})
    [words] = response.context["form"].errors["email"]
    assert words.startswith("This names a host that is too long")
    assert not smtp_server.messages


@pytest.mark.parametrize("between", ["\n", "\r\n", "\t", "\x1b[31m", "\u2028", "\u202e"])
def test_a_name_is_on_one_line(everyone: dict[str, Client], between: str) -> None:
    response = everyone["coordinator"].post(INVITE, ASKED | {"name": f"Wren{between}Applegarth"})
    told = {"name": ["Write this on one line, without control characters."]}
    assert response.context["form"].errors == told
    assert not Invitation.objects.exists()
