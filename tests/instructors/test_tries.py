"""What goes to the log of tries to come in and of what was refused: enough to see who probes, nothing to use."""

import logging

import pytest
from django.test import Client
from django.urls import reverse

from fleet.models import Car
from instructors.models import Member
from tests.flows.test_signing_in import CONFIRM_CODE, LOGIN, REQUEST_CODE
from tests.instructors.test_session_list import PASSWORD, PC, signed_in_on

WRONG = "not this one at all"
LOGGERS = {"instructors.signing_in.tries", "instructors.signing_in.middleware"}


def lines(caplog: pytest.LogCaptureFixture) -> list[str]:
    return [record.getMessage() for record in caplog.records if record.name in LOGGERS]


def test_a_wrong_password_is_written_down_without_address_or_password(
    keeper: Member, caplog: pytest.LogCaptureFixture
) -> None:
    client = Client(REMOTE_ADDR="192.0.2.1")
    client.post(LOGIN, {"login": keeper.email.upper(), "password": WRONG})
    client.post(LOGIN, {"login": "nobody@book.example", "password": WRONG})
    assert lines(caplog) == [
        f"Not let in: wrong password for member {keeper.pk}, from 192.0.2.1",
        "Not let in: wrong password for nobody who is known, from 192.0.2.1",
    ]
    assert WRONG not in caplog.text
    assert "book.example" not in caplog.text


def test_so_is_a_wrong_code_and_a_wrong_passkey(keeper: Member, caplog: pytest.LogCaptureFixture) -> None:
    client = Client()
    client.post(REQUEST_CODE, {"email": keeper.email})
    client.post(CONFIRM_CODE, {"code": "WRONGO"})
    Client().post(reverse("mfa_login_webauthn"), {"credential": '{"id": "x"}'})
    assert [line.partition(" for ")[0] for line in lines(caplog)] == [
        "Not let in: wrong e-mailed code",
        "Not let in: wrong passkey",
    ]


def test_a_right_password_is_none_of_it(keeper: Member, caplog: pytest.LogCaptureFixture) -> None:
    signed_in_on(keeper, PC)
    assert lines(caplog) == []


def test_who_is_refused_what_is_written_down_on_one_line(
    keeper: Member, car: Car, colleague: Member, caplog: pytest.LogCaptureFixture
) -> None:
    client = signed_in_on(colleague, PC)
    client.get(f"/cars/{car.registration}/")
    client.get("/nowhere%0AERROR forged: all is well/")
    assert lines(caplog) == [
        f"Refused to member {colleague.pk}: GET /cars/QA51ABC/, 404",
        f"Refused to member {colleague.pk}: GET /nowhere\\nERROR forged: all is well/, 404",
    ]
    assert not [record for record in caplog.records if "\n" in record.getMessage()]


def test_tries_that_go_beyond_a_limit_are_written_down(keeper: Member, caplog: pytest.LogCaptureFixture) -> None:
    caplog.set_level(logging.WARNING, "django.request")
    client = Client()
    while client.post(LOGIN, {"login": keeper.email, "password": PASSWORD}).status_code == 200:
        pass
    assert "Too Many Requests: /account/login/" in caplog.text
