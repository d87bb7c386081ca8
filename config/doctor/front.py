"""What stands in front of the book, opened as a member's browser opens it."""

import ssl
from datetime import UTC, datetime
from http.client import HTTPException, HTTPSConnection
from typing import Any, cast
from urllib.parse import urlsplit

from django.conf import settings
from django.shortcuts import resolve_url
from django.utils import timezone

from config.doctor.wrong import Wrong
from config.showing import day, on_one_line
from config.site import site_url

#: Seconds that it may take for each step.
_PATIENCE = 10
#: Who gets certificates by itself gets the next one while a third of the time is left.
_LEFT_AT_LEAST = 1 / 5
_PORTS = "Does its name lead to this machine, and are its ports 80 and 443 open to the world?"


def front() -> str:
    """Whether the site opens by https, with a certificate that holds, and tells the book that it does."""
    if not settings.SITE_IS_SECURE:
        return "None: the site is plain http."
    try:
        status, has_book, certificate = _opened()
    except ssl.SSLCertVerificationError as error:
        raise Wrong(
            f"{site_url()} shows a certificate that no browser takes ({error.verify_message}). {_PORTS}"
        ) from None
    except (OSError, HTTPException) as error:
        said = on_one_line(str(error) or type(error).__name__, longest=200)
        raise Wrong(
            f"{site_url()} cannot be opened from here ({said}). {_PORTS} If it opens from a phone, all is well: some"
            " networks do not lead a machine back to itself."
        ) from error
    if status in {301, 302, 308}:
        raise Wrong(
            "Whoever comes by https is led there again: the proxy in front has to set X-Forwarded-Proto itself,"
            " whatever the browser sent."
        )
    if status != 200 or not has_book:
        raise Wrong(
            f"{site_url()} is answered with {status}, and not by the book: does what stands in front lead to it?"
        )
    return f"{site_url()} opens, with a certificate until {_end_of(certificate)}."


def _opened() -> tuple[int, bool, dict[str, Any]]:
    """What answers the page for signing in, whether that is the book, and the certificate. Raises OSError."""
    parts = urlsplit(site_url())
    connection = HTTPSConnection(
        parts.hostname or "", parts.port or 443, timeout=_PATIENCE, context=ssl.create_default_context()
    )
    try:
        connection.connect()
        certificate = cast(dict[str, Any], connection.sock.getpeercert())
        # A browser could claim it.
        connection.request("GET", resolve_url(settings.LOGIN_URL), headers={"X-Forwarded-Proto": "http"})
        answer = connection.getresponse()
        return answer.status, "X-Request-Id" in answer.headers, certificate
    finally:
        connection.close()


def _end_of(certificate: dict[str, Any]) -> str:
    """The day on which it ends; Wrong if it should have been followed by another."""
    begins, ends = (
        datetime.fromtimestamp(ssl.cert_time_to_seconds(certificate[key]), UTC) for key in ("notBefore", "notAfter")
    )
    if ends - timezone.now() < (ends - begins) * _LEFT_AT_LEAST:
        raise Wrong(f"The certificate of {site_url()} ends on {day(ends)}, and no other has come. {_PORTS}")
    return day(ends)
