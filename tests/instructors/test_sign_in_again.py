"""The page /account/again/: a member without a password shows that it is still them."""

import pytest
from django.test import Client
from django.urls import reverse

from instructors.models import Member
from tests.flows.test_signing_in import REQUEST_CODE, code_in
from tests.mailserver import MailServer

AGAIN = reverse("instructors:sign-in-again")
SET_PASSWORD = reverse("account_set_password")


def test_whoever_has_only_codes_signs_in_anew_before_they_choose_a_password(
    client: Client, keeper: Member, smtp_server: MailServer
) -> None:
    """A phone left lying about must not be enough to shut its owner out."""
    client.force_login(keeper)
    new = {"password1": "another fairly long one 8", "password2": "another fairly long one 8"}
    assert client.post(SET_PASSWORD, new).url.startswith(AGAIN)
    response = client.get(SET_PASSWORD)
    assert response.url.startswith(AGAIN)
    page = client.get(response.url)
    after = page.content.decode().partition('name="next"')[2].partition('value="')[2].partition('"')[0]
    signed_out = client.post(reverse("account_logout"), {"next": after})
    assert signed_out.url.startswith(REQUEST_CODE)
    asked = client.post(signed_out.url, {"email": keeper.email, "next": SET_PASSWORD})
    sent = client.post(asked.url, {"code": code_in(smtp_server.wait_for(1)[0]), "next": SET_PASSWORD})
    assert sent.url == SET_PASSWORD
    client.post(SET_PASSWORD, new)
    keeper.refresh_from_db()
    assert keeper.check_password(new["password1"])


@pytest.mark.parametrize("elsewhere", ["https://elsewhere.example/", "//elsewhere.example", "javascript:alert(1)"])
def test_it_leads_nowhere_else(client: Client, keeper: Member, elsewhere: str) -> None:
    client.force_login(keeper)
    page = client.get(AGAIN, {"next": elsewhere}).content.decode()
    assert "elsewhere.example" not in page.partition("<main")[2]
    assert "javascript:" not in page.partition("<main")[2]


def test_somebody_not_signed_in_is_sent_to_sign_in(client: Client, db: None) -> None:
    assert client.get(AGAIN).url.startswith(reverse("account_login"))
