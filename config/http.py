"""What pages and fragments share when they answer a browser."""

from collections.abc import Callable
from functools import wraps
from typing import Any
from urllib.parse import urlsplit

from django.conf import settings
from django.http import HttpRequest, HttpResponse, HttpResponseForbidden
from django.shortcuts import resolve_url
from django.template.loader import render_to_string
from django.views.decorators.http import require_http_methods
from django_htmx.middleware import HtmxDetails

from config import budgets

#: Of a view that shows a page and takes what was filled in on it.
read_or_write = require_http_methods(["GET", "HEAD", "POST"])
#: What a page may not ask the device for, nor anything in it: the book needs none of these.
PERMISSIONS_POLICY = ", ".join(
    f"{feature}=()"
    for feature in ("camera", "microphone", "geolocation", "payment", "usb", "display-capture", "browsing-topics")
)


def address_is_secret(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
    """Have the browser tell nobody, the book's own server included, from which address it comes from this page.

    Only from which site, which a form must tell: with ``no-referrer`` its origin would be told as null, and refused.
    """

    @wraps(view)
    def kept_to_itself(*args: Any, **kwargs: Any) -> HttpResponse:
        response = view(*args, **kwargs)
        response.headers["Referrer-Policy"] = "strict-origin"
        return response

    return kept_to_itself


def never_in_clear(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
    """Refuse, where the site is reached over https, a program that asks for a secret address without.

    A redirect would serve it, and the address would go on being sent where everybody on the way can read it.
    """

    @wraps(view)
    def over_https(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        if settings.SECURE_SSL_REDIRECT and not request.is_secure():
            return HttpResponseForbidden("Only over https.", content_type="text/plain; charset=utf-8")
        return view(request, *args, **kwargs)

    return over_https


class HtmxRequest(HttpRequest):
    """A request as django-htmx hands it on."""

    htmx: HtmxDetails


class BoundedRequestMiddleware:
    """Refuse a request that is larger than any the book asks for, before a byte of it is read.

    Also one with a NUL in its address or a cookie: PostgreSQL takes none in any text. Forms refuse it by themselves.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if int(request.META.get("CONTENT_LENGTH") or 0) > budgets.REQUEST_BYTES:
            most = {"most": budgets.REQUEST_BYTES // 10**6}
            return HttpResponse(render_to_string("too_large.html", most), status=413)
        texts = (request.path_info, *request.COOKIES.values())
        if any("\0" in text for text in texts) or "%00" in request.META.get("QUERY_STRING", ""):
            return HttpResponse(render_to_string("400.html"), status=400)
        return self.get_response(request)


class PrivatePagesMiddleware:
    """Have a browser ask again for every page instead of keeping it, and say what no page of the book needs.

    What is kept would be shown to whoever has the browser next, and Back would show a figure as it was before it
    was changed. A view that knows better sets its own ``Cache-Control``. Static files never come by here.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        response.headers.setdefault("Cache-Control", "private, no-store")
        response.headers.setdefault("Cross-Origin-Resource-Policy", "same-origin")
        response.headers.setdefault("Permissions-Policy", PERMISSIONS_POLICY)
        return response


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
