"""A new password by mail is no way round the second step."""

import re

from allauth.mfa.totp.internal.auth import TOTP, generate_totp_secret
from django.test import Client
from django.urls import reverse

from instructors.models import Member
from tests.flows.test_signing_in import LOGIN, NEW_PASSWORD, PASSWORD, body_of, is_signed_in
from tests.mailserver import MailServer


def test_whoever_reads_the_mail_alone_is_asked_for_the_second_step(keeper: Member, smtp_server: MailServer) -> None:
    keeper.set_password(PASSWORD)
    keeper.save()
    TOTP.activate(keeper, generate_totp_secret())
    client = Client()
    client.post(reverse("account_reset_password"), {"email": keeper.email})
    link = re.search(r"http://[^/]+(/account/password/reset/key/\S+)", body_of(smtp_server.wait_for(1)[0]))
    form = client.get(link[1], follow=True)
    client.post(form.redirect_chain[-1][0], {"password1": NEW_PASSWORD, "password2": NEW_PASSWORD}, follow=True)
    assert not is_signed_in(client)
    signing_in = Client()
    answer = signing_in.post(LOGIN, {"login": keeper.email, "password": NEW_PASSWORD})
    assert answer.url == reverse("mfa_authenticate")
    assert not is_signed_in(signing_in)
