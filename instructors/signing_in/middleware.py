"""What is done for every request about signing in: how long it lasts, when it was last seen, what was refused."""

import hashlib
import logging
import time
from collections.abc import Callable

from allauth.account.authentication import get_authentication_records
from allauth.usersessions.models import UserSession
from django.conf import settings
from django.contrib.auth import logout
from django.core.cache import cache
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect

from instructors.access import settings_of
from instructors.queries import lacks_required_factor

logger = logging.getLogger(__name__)

GetResponse = Callable[[HttpRequest], HttpResponse]

#: Seconds. Often enough to tell today from last week, and seldom enough that most pages write nothing.
_SEEN_EVERY = 15 * 60


class LifetimeMiddleware:
    """Sign out anybody who last proved who they are too long ago, however busy they have been since.

    The session alone would not end: each write to it starts its time again.
    """

    def __init__(self, get_response: GetResponse) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        proofs = _proved_at(request)
        if proofs and time.time() - proofs[-1] >= settings.SESSION_COOKIE_AGE:
            logout(request)
        return self.get_response(request)


class FreshKeyMiddleware:
    """Give the session a new key when somebody has just proved again who they are: others may know the old key.

    Django does this at sign-in and when the password changes, but allauth does not when it asks again.
    """

    def __init__(self, get_response: GetResponse) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        before = (request.session.session_key, _proved_at(request))
        response = self.get_response(request)
        after = (request.session.session_key, _proved_at(request))
        if after[1] and after[0] == before[0] and after[1] != before[1]:
            request.session.cycle_key()
        return response


class SecondFactorMiddleware:
    """Treat a coordinator as an ordinary member until they have the second factor that the co-op asks for.

    The coordinators' pages then send them to the page where they set one up.
    """

    def __init__(self, get_response: GetResponse) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        user = request.user
        if not (user.is_authenticated and user.is_coordinator):
            return self.get_response(request)
        if not lacks_required_factor(user, settings_of(request)):
            return self.get_response(request)
        user.lacks_factor = True
        response = self.get_response(request)
        # The notice at the top of every page tells them why they are there.
        return redirect("mfa_index") if response.status_code in {403, 404} else response


class LastSeenMiddleware:
    """Note when each signed-in browser was last seen, so that a member can spot one that is not theirs."""

    def __init__(self, get_response: GetResponse) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        key = request.session.session_key
        # This runs after the view, so a sign-in counts as seen and a sign-out does not.
        if key and request.user.is_authenticated and cache.add(last_seen_key(key), True, _SEEN_EVERY):
            UserSession.objects.create_from_request(request)
        return response


class RefusalLogMiddleware:
    """Log every page that a signed-in member was refused: somebody who probes the book leaves many such lines.

    The log names the member by number alone, because whoever looks after the server reads it.
    """

    def __init__(self, get_response: GetResponse) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        if response.status_code in {403, 404, 429} and request.user.is_authenticated:
            # A line break in the path must not start a new line of the log.
            path = request.path.encode("unicode_escape").decode()
            logger.warning(
                "Refused to member %s: %s %s, %s", request.user.pk, request.method, path, response.status_code
            )
        return response


def last_seen_key(session_key: str) -> str:
    """The cache key that is set while a session needs no new note."""
    # Hashed, because anybody who reads the cache could sign in with the session key.
    return f"seen:{hashlib.sha256(session_key.encode()).hexdigest()}"


def _proved_at(request: HttpRequest) -> list[float]:
    """When the member proved in this session who they are, in seconds since the epoch, oldest first."""
    if not request.session.session_key:  # nobody is signed in, and reading the session would add a Vary header
        return []
    return [record["at"] for record in get_authentication_records(request, request.user)]
