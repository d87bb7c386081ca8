"""When each signed-in browser was last seen, and what it calls itself: what a member looks through for strangers."""

import hashlib
from collections.abc import Callable

from allauth.usersessions.models import UserSession
from django.core.cache import cache
from django.http import HttpRequest, HttpResponse

#: Seconds: often enough to tell today from last week, seldom enough that reading a page writes nothing.
_NOTED_EVERY = 15 * 60


class SeenMiddleware:
    """Note the browser that asks, if somebody is signed in on it."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        key = request.session.session_key
        # Asked after the answer: who signs in with this request is seen with it, who signs out is not.
        if key and request.user.is_authenticated and cache.add(noted(key), True, _NOTED_EVERY):
            UserSession.objects.create_from_request(request)
        return response


def noted(session_key: str) -> str:
    """The cache's key that says: this one was noted lately."""
    # Hashed, since whoever reads the cache must not find what opens the book.
    return f"seen:{hashlib.sha256(session_key.encode()).hexdigest()}"
