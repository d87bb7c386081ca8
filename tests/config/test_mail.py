"""What every mail has in common: plain text is plain, HTML is escaped, and its links are the site's own."""

import smtplib
from uuid import uuid4

import pytest
from allauth.account.adapter import get_adapter
from django.conf import settings as django_settings
from django.template.loader import get_template, render_to_string
from django.urls import reverse
from django.utils.html import escape

from config.mail import is_of_address, send_rendered
from instructors.models import Cooperative
from tests.factories import InvitationFactory

TEXTS = sorted(
    path.relative_to(folder).as_posix()
    for folder in django_settings.TEMPLATES[0]["DIRS"]
    for path in folder.rglob("*.txt")
)
#: All that HTML writes otherwise.
NAME = """Three Valleys Instructors' "A & B" <Co-op>"""


def test_a_subject_and_a_text_say_a_name_as_it_is_and_html_escapes_it(db, smtp_server, coordinator) -> None:
    cooperative = Cooperative.objects.create(name=NAME)
    invitation = InvitationFactory.create(invited_by=coordinator, name="Siân O'Neill <sian>")
    context = {"invitation": invitation, "cooperative": cooperative, "link": "https://book.example/?a=1&b=2"}
    send_rendered("instructors/mail/invitation", context, to=invitation.email, message_id=uuid4())
    [message] = smtp_server.messages
    assert message["Subject"] == f"Join {NAME} in the Tuition Car Book"
    text = " ".join(message.get_body(("plain",)).get_content().split())
    assert f"Book of {NAME}. We" in text
    assert text.startswith("Hello Siân O'Neill <sian>,")
    assert "https://book.example/?a=1&b=2" in text
    html = message.get_body(("html",)).get_content()
    assert f"Book of {escape(NAME)}.</h1>" in html
    assert "<Co-op>" not in html


def test_so_does_the_subject_of_the_page_s_own_invitation(client_of, coordinator, smtp_server) -> None:
    Cooperative.objects.create(name=NAME)
    sent = {"email": "new@book.example", "name": "Siân O'Neill", "role": "member", "grade": "ADI"}
    client_of(coordinator).post(reverse("instructors:invite"), sent)
    assert smtp_server.messages[0]["Subject"] == f"Join {NAME} in the Tuition Car Book"


@pytest.mark.parametrize("name", TEXTS)
def test_no_text_of_ours_is_escaped(name: str) -> None:
    assert not get_template(name).template.engine.autoescape


def test_mails_of_the_sign_in_are_plain_too() -> None:
    address = "o'neill&co@book.example"
    message = get_adapter().render_mail("account/email/unknown_account", address, {"email": address})
    assert f"with {address}, but" in " ".join(message.body.split())


def test_texts_that_a_library_brings_are_found_and_plain() -> None:
    assert NAME in render_to_string("account/messages/email_confirmed.txt", {"email": NAME})


@pytest.mark.parametrize(
    ("code", "said", "of_address"),
    [
        (550, b"5.1.1 Nobody here has this address", True),
        (452, b"4.2.2 Mailbox full", True),
        (550, b"No such user", True),
        (450, b"Try again later", False),
        (451, b"4.3.0 Not now", False),
        (554, b"5.7.1 Relay access denied", False),
        (550, b"5.7.54 Unable to relay", False),
        (450, b"4.1.8 <book@book.example>: Sender address rejected: Domain not found", False),
        (553, b"5.1.7 Bad sender", False),
        (530, b"Authentication required", False),
        (554, b"Blocked", False),
    ],
)
def test_a_refusal_of_one_address_is_told_from_one_of_the_book(code: int, said: bytes, of_address: bool) -> None:
    assert is_of_address(smtplib.SMTPRecipientsRefused({"wren@book.example": (code, said)})) is of_address
    assert not is_of_address(smtplib.SMTPDataError(code, said))
    assert not is_of_address(smtplib.SMTPSenderRefused(code, said, "book@book.example"))


def test_whatever_else_keeps_a_mail_is_of_no_address() -> None:
    for error in (ConnectionRefusedError(), smtplib.SMTPServerDisconnected("gone"), TimeoutError(), KeyError("x")):
        assert not is_of_address(error)
