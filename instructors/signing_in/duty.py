"""The second factor that a co-op may ask of its coordinators."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect

from instructors.queries import lacks_required_factor


class SecondFactorMiddleware:
    """Until they have it, a coordinator is a member like any other, and what only coordinators find leads to it."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        user = request.user
        if not (user.is_authenticated and user.is_coordinator and lacks_required_factor(user)):
            return self.get_response(request)
        user.lacks_factor = True
        response = self.get_response(request)
        # Why they are there, every page tells them at its top.
        return redirect("mfa_index") if response.status_code in {403, 404} else response
