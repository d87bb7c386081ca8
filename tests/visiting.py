"""A visitor of a site that another process serves: over a real connection, with cookies and nothing else."""

import re
from http.client import HTTPMessage
from http.cookiejar import CookieJar
from typing import NamedTuple
from urllib.error import HTTPError
from urllib.parse import urlencode
from urllib.request import HTTPCookieProcessor, Request, build_opener

_TOKEN = re.compile(r'name="csrfmiddlewaretoken" value="(\w+)"')


class Answer(NamedTuple):
    """What the site answered, after redirects."""

    status: int
    headers: HTTPMessage
    text: str


class Visitor:
    """Asks the site whose addresses begin with ``site``; a form is sent from the page that shows it."""

    def __init__(self, site: str) -> None:
        self.site = site.rstrip("/")
        self.cookies = CookieJar()
        self._opener = build_opener(HTTPCookieProcessor(self.cookies))

    def get(self, path: str, **headers: str) -> Answer:
        return self._ask(Request(self.site + path, headers=headers))  # noqa: S310 - our own site

    def post(self, path: str, fields: dict[str, str], **headers: str) -> Answer:
        """Send fields as they are: without a page's token, the site refuses them."""
        return self._ask(Request(self.site + path, urlencode(fields).encode(), headers))  # noqa: S310

    def send_form(self, path: str, fields: dict[str, str], **headers: str) -> Answer:
        """Open the page and send its form."""
        [token, *_] = _TOKEN.findall(self.get(path).text)
        return self.post(path, fields | {"csrfmiddlewaretoken": token}, Referer=self.site + path, **headers)

    def _ask(self, request: Request) -> Answer:
        try:
            answer = self._opener.open(request, timeout=60)
        except HTTPError as refusal:
            answer = refusal
        with answer:
            return Answer(answer.status, answer.headers, answer.read().decode(errors="replace"))
