"""How long one sign-in is good for, and under which key the browser knows it."""

import time
from collections.abc import Callable

from allauth.account.authentication import get_authentication_records
from django.conf import settings
from django.contrib.auth import logout
from django.http import HttpRequest, HttpResponse


class LifetimeMiddleware:
    """Sign out whoever showed too long ago who they are, however busy they have been since.

    The session itself would not end: each time that something is written to it, its time begins anew.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        shown_at = _shown_at(request)
        if shown_at and time.time() - shown_at[-1] >= settings.SESSION_COOKIE_AGE:
            logout(request)
        return self.get_response(request)


class FreshKeyMiddleware:
    """Give the session of whoever has just shown again who they are another key: the old one may be known elsewhere.

    Django does so at the door, and where a password changes; allauth's asking again does not.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        before = (request.session.session_key, _shown_at(request))
        response = self.get_response(request)
        after = (request.session.session_key, _shown_at(request))
        if after[1] and after[0] == before[0] and after[1] != before[1]:
            request.session.cycle_key()
        return response


def _shown_at(request: HttpRequest) -> list[float]:
    """The moments at which whoever is signed in has shown in this session who they are, in seconds of the clock."""
    if not request.session.session_key:  # nobody: asking further would only tell a cache that answers differ
        return []
    return [record["at"] for record in get_authentication_records(request, request.user)]
