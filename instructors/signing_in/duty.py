"""The second factor that a co-op may ask of its coordinators."""

from collections.abc import Callable

from django.contrib import messages
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
        # Of what is not there, nobody need know what a coordinator would have found.
        if response.status_code not in {403, 404}:
            return response
        messages.warning(request, "Pages for coordinators ask for a passkey or an authenticator app first.")
        return redirect("mfa_index")
