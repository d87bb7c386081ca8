"""How long what is sent or shown for signing in is good for, and how hard it is to guess."""

import re
from collections.abc import Iterator
from datetime import timedelta
from typing import Any

import pytest
import time_machine
from allauth.mfa.recovery_codes.internal.auth import RecoveryCodes
from allauth.mfa.totp.internal.auth import TOTP, format_hotp_value, generate_totp_secret, hotp_value
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from instructors.models import Member
from tests.flows.test_signing_in import (
    CONFIRM_CODE,
    LOGIN,
    NEW_PASSWORD,
    PASSWORD,
    REQUEST_CODE,
    body_of,
    code_in,
    is_signed_in,
)
from tests.mailserver import MailServer

Clock = Any  # of time-machine, which does not name its type
SHOW = reverse("mfa_authenticate")


@pytest.fixture
def clock() -> Iterator[Clock]:
    with time_machine.travel(timezone.now(), tick=False) as clock:
        yield clock


@pytest.fixture
def member(keeper: Member) -> Member:
    keeper.set_password(PASSWORD)
    keeper.save()
    return keeper


@pytest.mark.parametrize(("seconds", "opens"), [(170, True), (190, False)])
def test_a_mailed_code_is_good_for_three_minutes_and_in_one_browser(
    seconds: int, opens: bool, member: Member, clock: Clock, smtp_server: MailServer
) -> None:
    client, other = Client(), Client()
    client.post(REQUEST_CODE, {"email": member.email})
    code = code_in(smtp_server.wait_for(1)[0])
    assert len(code.replace("-", "")) >= 8
    other.post(REQUEST_CODE, {"email": "nobody@book.example"})
    other.post(CONFIRM_CODE, {"code": code})
    assert not is_signed_in(other)
    clock.shift(timedelta(seconds=seconds))
    client.post(CONFIRM_CODE, {"code": code})
    assert is_signed_in(client) is opens


@pytest.mark.parametrize(("days", "opens"), [(2, True), (4, False)])
def test_the_link_to_a_new_password_runs_out(
    days: int, opens: bool, member: Member, clock: Clock, smtp_server: MailServer
) -> None:
    client = Client()
    client.post(reverse("account_reset_password"), {"email": member.email})
    link = re.search(r"http://[^/]+(/account/password/reset/key/\S+)", body_of(smtp_server.wait_for(1)[0]))
    clock.shift(timedelta(days=days))
    form = client.get(link[1], follow=True)
    if form.redirect_chain:
        client.post(form.redirect_chain[-1][0], {"password1": NEW_PASSWORD, "password2": NEW_PASSWORD})
    member.refresh_from_db()
    assert member.check_password(NEW_PASSWORD) is opens


@pytest.mark.parametrize(("later", "opens"), [(0, True), (30, False), (60, False), (-30, False)])
def test_a_code_of_the_app_is_good_for_its_half_minute(later: int, opens: bool, member: Member, clock: Clock) -> None:
    key = generate_totp_secret()
    TOTP.activate(member, key)
    assert len(key) * 5 >= 128
    client = Client()
    client.post(LOGIN, {"login": member.email, "password": PASSWORD})
    code = format_hotp_value(hotp_value(key, int(timezone.now().timestamp()) // 30))
    clock.shift(timedelta(seconds=later))
    client.post(SHOW, {"code": code})
    assert is_signed_in(client) is opens


def test_recovery_codes_cannot_be_guessed_and_are_nowhere_in_clear(member: Member) -> None:
    kept = RecoveryCodes.activate(member)
    codes = kept.get_unused_codes()
    assert len(set(codes)) == 10
    assert all(re.fullmatch(r"\d{8}", code) for code in codes), "more than 20 bits"
    assert not [code for code in codes if code in str(kept.instance.data)]
    other = RecoveryCodes.activate(Member.objects.create(email="other@book.example", name="Other"))
    assert not set(codes) & set(other.get_unused_codes())


def test_every_session_has_a_key_of_its_own_too_long_to_guess(member: Member) -> None:
    keys = set()
    for _ in range(5):
        client = Client()
        client.post(LOGIN, {"login": member.email, "password": PASSWORD})
        keys.add(client.session.session_key)
    assert len(keys) == 5
    # Of 36 signs: 165 bits.
    assert all(re.fullmatch(r"[a-z0-9]{32}", key) for key in keys)
