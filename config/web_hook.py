"""A short message to a web hook: the one place where the book asks another site for anything.

Its address may hold a secret, so it stands in no log and in no error.
"""

import json
import socket
import ssl
from collections.abc import Mapping
from http.client import HTTPException
from urllib.error import HTTPError, URLError
from urllib.parse import urlsplit
from urllib.request import HTTPRedirectHandler, HTTPSHandler, Request, build_opener

#: Seconds that the other side may take for each step.
PATIENCE = 5


class NotTaken(OSError):
    """The other side did not take the message; the words do not hold its address."""


class _GoNowhereElse(HTTPRedirectHandler):
    """Nobody may lead the message on to another address, which may be in clear."""

    def redirect_request(self, *_: object) -> None:
        return None


def post(address: str, message: Mapping[str, object]) -> None:
    """Post ``message`` as JSON to an https address. Raises NotTaken unless the answer says that it was taken."""
    if not address.startswith("https://"):
        raise NotTaken("The address is not https.")
    opener = build_opener(_GoNowhereElse, HTTPSHandler(context=ssl.create_default_context()))
    request = Request(address, json.dumps(message).encode(), {"Content-Type": "application/json"})  # noqa: S310
    try:
        opener.open(request, timeout=PATIENCE).close()
    except HTTPError as error:
        error.close()
        raise NotTaken(f"The web hook answered {error.code}.") from None
    except (OSError, HTTPException, ValueError) as error:
        raise NotTaken(_why(error)) from None


def reach(address: str) -> None:
    """See whether the host of an https address is there and shows who it is. Raises NotTaken."""
    parts = urlsplit(address)
    try:
        with (
            socket.create_connection((parts.hostname or "", parts.port or 443), timeout=PATIENCE) as plain,
            ssl.create_default_context().wrap_socket(plain, server_hostname=parts.hostname),
        ):
            return
    except (OSError, ValueError) as error:
        raise NotTaken(_why(error)) from None


def _why(error: Exception) -> str:
    """The reason without the address, which some errors repeat."""
    cause = error.reason if isinstance(error, URLError) else error
    if isinstance(cause, ssl.SSLCertVerificationError):
        return f"The web hook cannot show who it is ({cause.verify_message})."
    if isinstance(cause, TimeoutError):
        return f"The web hook did not answer within {PATIENCE} seconds."
    said = getattr(cause, "strerror", None) or type(cause).__name__
    return f"The web hook cannot be reached ({said})."
