"""Whatever is sent in place of a passkey is refused like a wrong code."""

import base64
import json
from typing import Any

import pytest
from allauth.mfa.models import Authenticator
from django.test import Client
from django.urls import reverse

from instructors.models import Member
from tests.instructors.test_session_list import PASSWORD, PC, signed_in_on

LOGIN = reverse("mfa_login_webauthn")


def coded(data: bytes) -> str:
    return base64.urlsafe_b64encode(data).decode().rstrip("=")


def answer(**parts: Any) -> dict[str, Any]:
    """An answer of a browser in the right shape, of nobody."""
    said = {"type": "webauthn.get", "challenge": coded(b"x" * 32), "origin": "http://localhost"}
    response = {
        "clientDataJSON": coded(json.dumps(said).encode()),
        "authenticatorData": coded(b"\0" * 37),
        "signature": coded(b"none"),
        "userHandle": coded(b"1"),
    }
    return {"id": coded(b"id"), "rawId": coded(b"id"), "type": "public-key", "response": response | parts}


HOSTILE = {
    "no object": [],
    "a number": 7,
    "without parts": {"id": "x"},
    "an answer that is none": {"id": "eA", "rawId": "eA", "type": "public-key", "response": []},
    "half an answer": {"id": "eA", "rawId": "eA", "type": "public-key", "response": {}},
    "in the right shape": answer(),
    "of nobody": answer(userHandle=coded(b"999999")),
    "of more than the largest number": answer(userHandle=coded(b"9" * 40)),
    "of no number": answer(userHandle=coded(b"\xff\0")),
    "with data that break off": answer(authenticatorData=coded(b"\0" * 3)),
    "with data of no browser": answer(clientDataJSON=coded(b"{")),
    "with a list for words": answer(clientDataJSON=coded(b"[]")),
}


@pytest.mark.parametrize("sent", HOSTILE.values(), ids=HOSTILE)
def test_at_the_door_it_is_refused(sent: Any, keeper: Member) -> None:
    client = Client()
    client.get(LOGIN, headers={"X-Requested-With": "XMLHttpRequest", "Accept": "application/json"})
    client.post(LOGIN, {"credential": json.dumps(sent)})
    assert client.get(reverse("costing:home")).status_code == 302


@pytest.mark.parametrize("name", ["mfa_add_webauthn", "mfa_reauthenticate_webauthn"])
@pytest.mark.parametrize("sent", HOSTILE.values(), ids=HOSTILE)
def test_so_it_is_of_somebody_who_is_signed_in(name: str, sent: Any, keeper: Member) -> None:
    client = signed_in_on(keeper, PC)
    client.get(reverse(name))
    client.post(reverse(name), {"name": "x", "credential": json.dumps(sent)})
    assert not Authenticator.objects.exists()
    assert keeper.check_password(PASSWORD)
