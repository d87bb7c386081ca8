"""Middleware and decorators for all answers to a browser."""

from collections.abc import Callable
from functools import wraps
from typing import Any
from urllib.parse import urlsplit

from django.conf import settings
from django.http import HttpRequest, HttpResponse, HttpResponseForbidden, JsonResponse
from django.shortcuts import resolve_url
from django.template.loader import render_to_string
from django.views.decorators.http import require_http_methods
from django_htmx.middleware import HtmxDetails

from config import budgets
from config.unread import may_be_longer, told_bytes

#: For a view that shows a page and takes its form.
read_or_write = require_http_methods(["GET", "HEAD", "POST"])
#: No page, nor anything in it, may ask the device for these: the book needs none of them.
PERMISSIONS_POLICY = ", ".join(
    f"{feature}=()"
    for feature in ("camera", "microphone", "geolocation", "payment", "usb", "display-capture", "browsing-topics")
)


def address_is_secret(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
    """Keep this page's address out of the Referer header, even towards the book's own server.

    The browser still sends the site alone: with ``no-referrer`` a form's Origin would be null, and refused.
    """

    @wraps(view)
    def kept_to_itself(*args: Any, **kwargs: Any) -> HttpResponse:
        response = view(*args, **kwargs)
        response.headers["Referrer-Policy"] = "strict-origin"
        return response

    return kept_to_itself


def never_in_clear(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
    """On an https site, refuse plain http to a secret address.

    If a redirect served the program, it would go on sending the address where everybody on the way can read it.
    """

    @wraps(view)
    def over_https(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        if settings.SECURE_SSL_REDIRECT and not request.is_secure():
            return HttpResponseForbidden("Only over https.", content_type="text/plain; charset=utf-8")
        return view(request, *args, **kwargs)

    return over_https


def wants_data(request: HttpRequest) -> bool:
    """Whether a script asks, which gets JSON, rather than somebody's browser, which gets a page."""
    return request.get_preferred_type(["text/html", "application/json"]) == "application/json"


class HtmxRequest(HttpRequest):
    """A request with what django-htmx adds to it."""

    htmx: HtmxDetails


class HealthIsForAnybodyMiddleware:
    """Read no cookie of whoever asks for health: no session is looked up, so that no database is asked for one."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if request.path_info.startswith("/health/"):
            request.COOKIES = {}
        return self.get_response(request)


class BoundedRequestMiddleware:
    """Refuse a request that is too large before any of it is read, and one with a NUL in its address or a cookie.

    PostgreSQL takes no NUL in a text. Forms refuse it themselves.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if told_bytes(request.META) > budgets.REQUEST_BYTES:
            most = {"most": budgets.REQUEST_BYTES // 10**6}
            return HttpResponse(render_to_string("too_large.html", most), status=413)
        texts = (request.path_info, *request.COOKIES.values())
        if any("\0" in text for text in texts) or "%00" in request.META.get("QUERY_STRING", ""):
            return HttpResponse(render_to_string("400.html"), status=400)
        return self.get_response(request)


class ShortFromStrangersMiddleware:
    """Refuse what is long, or does not tell its length, from somebody who is not signed in, before any of it is read.

    While a body is read it holds a thread, and a stranger could send one for as long as they like. A short one takes
    none: the front hands it on once it has come whole. A script is told that nobody is signed in, which its member,
    whose session has ended, can mend.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        is_long = may_be_longer(request.META, budgets.STRANGER_BYTES)
        if not is_long or request.user.is_authenticated:
            return self.get_response(request)
        if wants_data(request):
            return JsonResponse({}, status=401)
        return HttpResponse(render_to_string("sign_in_first.html"), status=413)


class PrivatePagesMiddleware:
    """Have the browser keep no page, and forbid what no page needs.

    A kept page would be shown to the next person at the browser, and Back would show old figures. A view may set its
    own ``Cache-Control``. Static files do not pass through here.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        response.headers.setdefault("Cache-Control", "private, no-store")
        response.headers.setdefault("Cross-Origin-Resource-Policy", "same-origin")
        response.headers.setdefault("Permissions-Policy", PERMISSIONS_POLICY)
        return response


class NotAllowedMiddleware:
    """Say in words that an address takes only what a form sends, instead of the browser's own blank page."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        if response.status_code == 405:
            response.content = render_to_string("405.html")
        return response


class ScriptLoginMiddleware:
    """Turn a redirect to the sign-in page into one of the whole page for htmx, and into 401 for JSON.

    Otherwise htmx would swap the sign-in page into part of the page, and a script would take it for an answer. Other
    redirects are left alone.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HtmxRequest) -> HttpResponse:
        response = self.get_response(request)
        if response.status_code in {301, 302, 303}:
            target = response.headers["Location"]
            if urlsplit(target).path == resolve_url(settings.LOGIN_URL):
                if request.htmx:
                    return HttpResponse(headers={"HX-Redirect": target})
                if wants_data(request):
                    return JsonResponse({}, status=401)
        return response
