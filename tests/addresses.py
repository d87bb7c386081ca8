"""Every address of the site, and the page that one of them has for a thing of the book."""

import re
from collections.abc import Iterator, Mapping

from django.urls import URLPattern, URLResolver, get_resolver

_PARAMETER = re.compile(r"<(?:\w+:)?(\w+)>|\(\?P<(\w+)>[^)]*\)")


def routes(resolver: URLResolver | None = None, before: str = "") -> Iterator[tuple[str, URLPattern]]:
    """Each address as its url patterns write it, with the pattern."""
    for pattern in (resolver or get_resolver()).url_patterns:
        route = before + str(pattern.pattern).replace("^", "").rstrip("$")
        if isinstance(pattern, URLResolver):
            yield from routes(pattern, route)
        else:
            yield route, pattern


def filled_in(route: str, words: Mapping[str, object]) -> str:
    """The path of a route whose parameters have these values; "none" for others."""
    return "/" + _PARAMETER.sub(lambda part: str(words.get(part[1] or part[2], "none")), route)


def start_of(route: str, starts: Mapping[str, object]) -> str:
    """The longest of ``starts`` with which a route begins; empty if there is none."""
    return max((start for start in starts if route.startswith(start)), key=len, default="")
