"""One id for each request. The lines that it makes anybody write carry it, and an error page shows it to be quoted."""

import logging
import secrets
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar

from django.conf import settings
from django.http import HttpRequest, HttpResponse

HEADER = "X-Request-ID"
#: Under this name a task carries the id of the request that handed it over.
TASK_HEADER = "request_id"
_current: ContextVar[str] = ContextVar("request_id", default="")
logger = logging.getLogger(__name__)


def current_request_id() -> str:
    """The id of the request that is being answered or worked for; "" outside of one."""
    return _current.get()


@contextmanager
def working_for(request_id: str) -> Iterator[None]:
    """Within it, all that is written down is about this request."""
    token = _current.set(request_id)
    try:
        yield
    finally:
        _current.reset(token)


def work_for(request_id: str) -> None:
    """All that is written down from now on is about this request; "" ends it."""
    _current.set(request_id)


class RequestIdMiddleware:
    """Give each request an id of the book's own making, tell it to the browser, and write one line on the answer.

    The line has the route, not the address, which may hold a secret or name a car. The embedded book writes none.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer as the view does, with the id."""
        begun = time.monotonic()
        with working_for(secrets.token_hex(4)):
            response = self.get_response(request)
            response.headers[HEADER] = current_request_id()
            # Files that WhiteNoise serves have no route.
            if request.resolver_match and not settings.EMBEDDED:
                told = {
                    "method": request.method,
                    "route": request.resolver_match.route,
                    "status": response.status_code,
                    "seconds": round(time.monotonic() - begun, 3),
                }
                logger.info("%(method)s /%(route)s %(status)s %(seconds)s s", told, extra=told)
        return response
