"""Requests that no page of the book asks for are refused before they cost anything."""

from io import BytesIO
from urllib.parse import urlencode
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

from config import budgets
from fleet.models import Car, WalkaroundCheck
from tests.pictures import picture_bytes

pytestmark = pytest.mark.usefixtures("today")
HOME = reverse("costing:home")


class Unread(BytesIO):
    """A body that nobody may read."""

    def read(self, *_: object) -> bytes:
        raise AssertionError("the body was read")


def test_a_request_that_is_too_large_is_refused_unread(everyone: dict[str, Client]) -> None:
    for client in everyone.values():
        claimed = {"CONTENT_LENGTH": str(budgets.REQUEST_BYTES + 1), "CONTENT_TYPE": "multipart/form-data; boundary=x"}
        response = client.generic("POST", HOME, b"", **claimed | {"wsgi.input": Unread()})
        assert response.status_code == 413
        assert "at most 40 MB" in response.content.decode()


@pytest.mark.parametrize("address", [reverse("account_login"), HOME, "/nowhere/"])
@pytest.mark.parametrize(
    "told", [{"CONTENT_LENGTH": str(budgets.STRANGER_BYTES + 1)}, {"HTTP_TRANSFER_ENCODING": "chunked"}]
)
def test_what_is_long_or_tells_no_length_is_refused_unread_to_whoever_is_not_signed_in(
    everyone: dict[str, Client], address: str, told: dict[str, str]
) -> None:
    def post(accept: str) -> HttpResponse:
        unread = {"CONTENT_TYPE": "multipart/form-data; boundary=x", "wsgi.input": Unread()}
        return everyone["anonymous"].generic("POST", address, b"", HTTP_ACCEPT=accept, **unread | told)

    refused = post("text/html")
    assert refused.status_code == 413
    assert "<h1>Sign in first</h1>" in refused.content.decode()
    # What waits on a phone goes on waiting until its member has signed in.
    assert post("application/json").status_code == 401


def test_a_member_may_send_more_and_a_stranger_all_that_a_form_asks_for(everyone: dict[str, Client], car: Car) -> None:
    long = {"miles": "1" * budgets.STRANGER_BYTES}
    assert everyone["keeper"].post(reverse("fleet:odometer-add", args=[car.registration]), long).status_code == 200
    short = {"login": "1" * (budgets.STRANGER_BYTES - 100), "password": "x"}
    address = reverse("account_login")
    sent = {"data": urlencode(short), "content_type": "application/x-www-form-urlencoded"}
    assert everyone["anonymous"].post(address, **sent).status_code == 200


def test_more_than_any_form_asks_for_is_refused_with_a_sentence(everyone: dict[str, Client], car: Car) -> None:
    address = reverse("fleet:odometer-add", args=[car.registration])
    for typed in ({"miles": "1" * (budgets.FORM_BYTES + 1)}, {f"x{n}": "" for n in range(budgets.FORM_FIELDS + 1)}):
        response = everyone["keeper"].post(address, typed)
        assert response.status_code == 400
        assert "Nothing was saved" in response.content.decode()


@pytest.mark.parametrize("address", ["/cars/a%00b/", f"{HOME}?page=a%00b"])
def test_an_address_with_a_nul_is_no_address(everyone: dict[str, Client], address: str) -> None:
    for client in everyone.values():
        assert client.get(address).status_code == 400


def test_more_photos_than_a_check_may_have_are_not_looked_at(everyone: dict[str, Client], car: Car) -> None:
    address = reverse("fleet:check-group", args=[car.registration, uuid4(), "outside"])
    form = everyone["keeper"].get(address).context["form"]
    points = [point.name for point in form.points]
    typed = {"checked_on": "2026-03-16", "note": "Looked at in the rain"}
    photos = {
        f"{name}-photo": SimpleUploadedFile("p.jpg", b"no picture") for name in points[: budgets.CHECK_PHOTOS + 1]
    }
    response = everyone["keeper"].post(address, typed | photos)
    page = response.content.decode()
    assert "At most 6 photos can be sent at once" in page
    assert "Looked at in the rain" in page
    assert "cannot be read as a photo" not in page
    assert not WalkaroundCheck.objects.exists()

    faults = {f"{name}-fault": "on" for name in points[: budgets.CHECK_PHOTOS]}
    faults |= {f"{name}-severity": "watch" for name in points[: budgets.CHECK_PHOTOS]}
    faults |= {f"{name}-description": "Worn" for name in points[: budgets.CHECK_PHOTOS]}
    photos = {name: SimpleUploadedFile("p.jpg", picture_bytes()) for name in list(photos)[: budgets.CHECK_PHOTOS]}
    assert everyone["keeper"].post(address, typed | faults | photos).status_code == 303
    assert WalkaroundCheck.objects.get().defects.count() == budgets.CHECK_PHOTOS
