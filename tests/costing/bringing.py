"""Bringing a file as a browser does: it is sent, then the page of its rows is sent with what was changed on it."""

from typing import Any

from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

from tests.matrix.forms import form_on

BRING, ROWS = reverse("costing:bring-file"), reverse("costing:bring-rows")


def send(client: Client, content: str | bytes, holds: str = "cost", name: str = "mine.csv") -> HttpResponse:
    """Send a file, and return the page of its rows."""
    file = SimpleUploadedFile(name, content.encode() if isinstance(content, str) else content)
    return client.post(BRING, {"holds": holds, "file": file})


def on(response: HttpResponse) -> dict[str, Any]:
    """What the form on the page of rows sends as it stands."""
    return dict(form_on(response.content.decode(), ROWS))


def save(client: Client, response: HttpResponse, **changed: Any) -> HttpResponse:
    """Send the page of rows to be saved, with some fields changed (None: left out)."""
    sent = {**on(response), **changed, "save": "1"}
    return client.post(ROWS, {name: value for name, value in sent.items() if value is not None})


def look(client: Client, response: HttpResponse, **changed: Any) -> HttpResponse:
    """Send the page of rows to be read again, with some fields changed."""
    sent = {**on(response), **changed, "look": "1"}
    return client.post(ROWS, {name: value for name, value in sent.items() if value is not None})
