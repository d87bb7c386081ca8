"""The signed cookie by which a device is known: only ours, only for this, only for so long."""

from datetime import timedelta

import pytest
import time_machine
from django.core import signing
from django.test import RequestFactory
from django.utils import timezone

from instructors.models import Member
from instructors.signing_in import devices

SALT = "instructors.signing_in.devices"
OTHER_KEY = "a key of somebody else's book, " * 2


def known_with(cookie: str, member: Member) -> str:
    request = RequestFactory().get("/")
    request.COOKIES[devices.COOKIE] = cookie
    return devices.known(request, member.email)


def test_one_of_ours_is_believed(keeper: Member) -> None:
    assert known_with(signing.dumps({str(keeper.pk): "the phone"}, salt=SALT), keeper) == "the phone"


@pytest.mark.parametrize(
    "options",
    [
        {"salt": "another purpose"},
        {"salt": "django.contrib.sessions.backends.signed_cookies"},
        {"salt": SALT, "key": OTHER_KEY},
    ],
    ids=["another purpose", "a session", "another key"],
)
def test_one_signed_for_anything_else_or_by_anybody_else_is_not(keeper: Member, options: dict[str, str]) -> None:
    assert known_with(signing.dumps({str(keeper.pk): "the phone"}, **options), keeper) == ""


def test_neither_is_one_with_a_word_changed_or_without_a_signature(keeper: Member, colleague: Member) -> None:
    value, time, signature = signing.dumps({str(keeper.pk): "the phone"}, salt=SALT).split(":")
    other = signing.dumps({str(colleague.pk): "the phone"}, salt=SALT).split(":")[0]
    assert known_with(f"{other}:{time}:{signature}", colleague) == ""
    assert known_with(f"{value}:{time}:", keeper) == ""
    assert known_with(value, keeper) == ""


def test_nor_one_that_is_too_old(keeper: Member) -> None:
    cookie = signing.dumps({str(keeper.pk): "the phone"}, salt=SALT)
    with time_machine.travel(timezone.now() + timedelta(days=401)):
        assert known_with(cookie, keeper) == ""
