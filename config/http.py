"""What pages and fragments share when they answer a browser."""

from collections.abc import Callable
from urllib.parse import urlsplit

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import resolve_url
from django.views.decorators.http import require_http_methods
from django_htmx.middleware import HtmxDetails

#: Of a view that shows a page and takes what was filled in on it.
read_or_write = require_http_methods(["GET", "HEAD", "POST"])


class HtmxRequest(HttpRequest):
    """A request as django-htmx hands it on."""

    htmx: HtmxDetails


class HtmxLoginMiddleware:
    """Turn a redirect to sign-in into a whole-page one for htmx.

    Followed by htmx itself, the sign-in page would be swapped into the card that asked. Any other redirect
    is left alone.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HtmxRequest) -> HttpResponse:
        response = self.get_response(request)
        if request.htmx and response.status_code in {301, 302, 303}:
            target = response.headers["Location"]
            if urlsplit(target).path == resolve_url(settings.LOGIN_URL):
                return HttpResponse(headers={"HX-Redirect": target})
        return response
