"""Asking as somebody, and all that an answer tells: its headers and body, the page after it, the mails and the log."""

import logging
import re
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import urlsplit

import pytest
from django.core.cache import cache
from django.db import connection, transaction
from django.http import HttpResponseBase
from django.shortcuts import resolve_url
from django.test.client import Client, ClientHandler

from instructors.signing_in.middleware import last_seen_key
from tests.mailserver import MailServer
from tests.matrix.canaries import text_in
from tests.matrix.world import World

#: The answer that asks for signing in: a redirect or, for htmx, a header.
SIGN_IN = "sign in"
HTMX = {"HX-Request": "true"}
#: What is different each time a page is made: tokens against forgery, references of forms, challenges and keys.
_CHANGING = re.compile(
    r'(?<="X-CSRFToken": ")\w+|(?<=name="csrfmiddlewaretoken" value=")\w+|[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}'
    r'|(?<="challenge": ")[\w-]+|(?<=id="authenticator_secret">)\w+|(?<=\?secret=)\w+'
    r"|(?<=data:image/svg\+xml;base64,)[\w+/=]+"
    r'|(?<="token":")\w+|(?<="seal":")[\w+/=]+'
)
#: One for all browsers: each made anew would look at every static file first.
_HANDLER = ClientHandler(enforce_csrf_checks=False)
_WRITE = re.compile(r"\s*(?:INSERT|UPDATE|DELETE|REPLACE)\b", re.IGNORECASE)


@dataclass
class Answer:
    """What came of asking. ``told`` is all that whoever asked can read: headers, cookies, body, the next page's too."""

    status: int | str
    body: str
    location: str
    told: str
    logged: str
    #: To whom each mail went that was sent, and what it says.
    mails: list[tuple[str, str]] = field(default_factory=list)
    #: The statements that wrote to the book; a session is none of its rows.
    written: list[str] = field(default_factory=list)
    watched: Any = None

    @property
    def lasting(self) -> str:
        """The body without what is made anew for each page."""
        return _CHANGING.sub("", self.body)


class _Browser(Client):
    """Django's own, which keeps no copy of all that every template was given: there are thousands of pages here."""

    def __init__(self) -> None:
        super().__init__()
        self.handler = _HANDLER

    def request(self, **request: Any) -> Any:
        response = self.handler(self._base_environ(**request))
        self.cookies.update(response.cookies)
        return response


class Asker:
    """Asks as anybody in the world. Whatever an answer wrote is undone before the next."""

    def __init__(self, world: World, mail_server: MailServer, log: pytest.LogCaptureFixture) -> None:
        self.world, self.mail_server, self.log = world, mail_server, log
        log.set_level(logging.INFO)
        self._be_seen()

    def ask(
        self,
        role: str,
        method: str,
        address: str,
        *,
        data: Mapping[str, Any] | None = None,
        htmx: bool = False,
        watch: Callable[[list[str]], Any] = lambda written: None,
    ) -> Answer:
        """One request of somebody; after a POST, the page to which it leads too, for the message left there.

        What ``watch`` gives of a book in which something was written, from the statements, is kept as ``watched``.
        """
        browser = self.browser(role)
        more: dict[str, Any] = {"headers": HTMX} if htmx else {}
        if data is not None:
            more["data"] = dict(data)
        with undone(), _written() as written:
            if method == "POST" or address.startswith("/account/"):
                cache.clear()  # where tries are counted
                self._be_seen()
            self.mail_server.clear()
            self.log.clear()
            response = getattr(browser, method.lower())(address, **more)
            answer = _answer(response, own=self.world.sessions.get(role, ""))
            answer.written = written.copy()
            answer.watched = watch(answer.written) if answer.written else None
            if method == "POST" and answer.location.startswith("/") and answer.status != SIGN_IN:
                answer.told += _answer(browser.get(answer.location), own=self.world.sessions.get(role, "")).told
            # The mail server of the suite writes down all it hears; it is none of the book.
            answer.logged = "\n".join(line.getMessage() for line in self.log.records if line.name != "mail.log")
            answer.mails = [(str(mail["To"]), _words_of(mail)) for mail in self.mail_server.all_sent()]
        return answer

    def browser(self, role: str) -> Client:
        """A browser in which somebody is signed in, if they ever were."""
        browser = _Browser()
        if session := self.world.sessions.get(role):
            browser.cookies["sessionid"] = session
        return browser

    def _be_seen(self) -> None:
        """Every browser was seen a moment ago: that is noted with the first page of a quarter of an hour."""
        cache.set_many({last_seen_key(session): True for session in self.world.sessions.values()})


@contextmanager
def undone() -> Iterator[None]:
    """Whatever is written inside never was."""
    block = transaction.atomic()
    # As pytest-django's own: an action that must not be called inside a transaction may be called inside this one.
    block._from_testcase = True  # type: ignore[attr-defined]
    with block:
        yield
        transaction.set_rollback(True)


@contextmanager
def _written() -> Iterator[list[str]]:
    statements: list[str] = []

    def note(execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
        if _WRITE.match(sql) and '"django_session"' not in sql:
            statements.append(sql)
        return execute(sql, params, many, context)

    with connection.execute_wrapper(note):
        yield statements


def _answer(response: HttpResponseBase, *, own: str) -> Answer:
    """What was answered to somebody whose ``own`` session may be in the cookie of it, and nowhere else."""
    raw = b"".join(response) if response.streaming else response.content  # type: ignore[arg-type, attr-defined]
    body = text_in(raw, response.headers.get("Content-Type", ""))
    location = response.headers.get("Location", "") or response.headers.get("HX-Redirect", "")
    is_sign_in = urlsplit(location).path == resolve_url("account_login")
    headers = {name: value for name, value in response.headers.items() if name != "Content-Length"}  # any number
    head = [response.reason_phrase, *(f"{name}: {value}" for name, value in headers.items())]
    told = "\n".join([*head, response.cookies.output().replace(own, ""), body])
    return Answer(SIGN_IN if is_sign_in else response.status_code, body, location, told, logged="")


def _words_of(mail: Any) -> str:
    return "\n".join([str(mail["Subject"]), *(part.get_content() for part in mail.walk() if not part.is_multipart())])
