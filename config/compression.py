"""Pages are sent compressed, except those that show a secret. DEVELOPERS.md weighs what their length tells."""

import re
from collections.abc import Callable
from functools import wraps
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.middleware.gzip import GZipMiddleware
from django.utils.cache import patch_cache_control

#: Pages, what scripts are told, and what a phone is given to keep the book: the worker and the manifest.
COMPRESSED = ("text/html", "application/json", "application/manifest+json", "text/javascript")

#: What stands between two tags, where a page shows one space whatever its length: the indentation of the templates. In
#: a textarea alone it is what somebody typed.
_BETWEEN_TAGS = re.compile(rb">\s+<(?!/textarea)")
#: What stands before an attribute, or the end of a tag, on a line of its own. Nothing typed looks like these: its
#: quotation marks and angle brackets are escaped.
_WITHIN_A_TAG = re.compile(rb"\n\s+(?=[a-z-]+=\"|>)")


def holds_a_secret(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
    """For a view whose page shows a secret or stands at a secret address: it is sent as it is.

    The length of a compressed page could tell whether a guess is in it. ``no-transform`` keeps a proxy from
    compressing the page as well.
    """

    @wraps(view)
    def as_it_is(*args: Any, **kwargs: Any) -> HttpResponse:
        response = view(*args, **kwargs)
        patch_cache_control(response, private=True, no_store=True, no_transform=True)
        return response

    return as_it_is


class CompressedPagesMiddleware(GZipMiddleware):
    """Compress pages and what scripts are told, each with a random number of bytes more, so that its length varies.

    A page leaves its indentation behind: of a log page that was a sixteenth.
    Photos, PDFs and static files are compressed already, or are streamed; of other answers none is large.
    """

    def process_response(self, request: HttpRequest, response: HttpResponseBase) -> HttpResponseBase:
        kind, caching = (response.headers.get(name, "") for name in ("Content-Type", "Cache-Control"))
        if not isinstance(response, HttpResponse) or not kind.startswith(COMPRESSED) or "no-transform" in caching:
            return response
        if kind.startswith("text/html") and "gzip" in request.headers.get("Accept-Encoding", ""):
            response.content = _WITHIN_A_TAG.sub(b" ", _BETWEEN_TAGS.sub(b">\n<", response.content))
            response.headers["Content-Length"] = str(len(response.content))
        return super().process_response(request, response)
