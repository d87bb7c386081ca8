"""What goes to the log of tries to come in, and of pages that somebody was refused: who, from where, what, and no more.

A member's number, no name and no address: the log is read by whoever looks after the server.
"""

import logging
from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

from config.proxies import client_address
from instructors.queries import member_with

logger = logging.getLogger(__name__)


def note_wrong_try(request: HttpRequest, *, what: str, email: str = "") -> None:
    """Write down that ``what``, such as a password, did not fit."""
    member = member_with(email.strip()) if email else None
    whose = f"member {member.pk}" if member else "nobody who is known"
    logger.warning("Not let in: wrong %s for %s, from %s", what, whose, client_address(request))


class WatchMiddleware:
    """Write down whom the book refused what: of a probing member there are many such lines, of an honest one few."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        if response.status_code in {403, 404, 429} and request.user.is_authenticated:
            # Whatever the address holds stays on this one line.
            path = request.path.encode("unicode_escape").decode()
            logger.warning(
                "Refused to member %s: %s %s, %s", request.user.pk, request.method, path, response.status_code
            )
        return response
