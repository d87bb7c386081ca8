"""What every mail has in common: plain text is plain, HTML is escaped, and its links are the site's own."""

from uuid import uuid4

import pytest
from allauth.account.adapter import get_adapter
from django.conf import settings as django_settings
from django.template.loader import get_template, render_to_string
from django.urls import reverse
from django.utils.html import escape

from config.mail import send_rendered
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
