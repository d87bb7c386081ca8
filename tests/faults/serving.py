"""The web process as a server runs it, for tests that take something away from it, and browsers that ask it."""

import time
from collections.abc import Callable
from http.client import HTTPResponse
from typing import Any

from django.conf import settings
from django.test import Client

from instructors.models import Member
from tests.processes import BookProcess
from tests.visitor import Visitor

Start = Callable[..., BookProcess]
#: Seconds that no answer may take: whoever waited for a hung neighbour would wait until the visitor gives up. The 2
#: seconds that are meant are not held against a machine that runs the suite beside.
PATIENCE = 20


def serve(book_process: Start, app: str = "config.wsgi", **variables: str) -> int:
    """Start gunicorn with two threads; the port at which it listens. ``app``: the module that it serves."""
    server = book_process(
        *("-m", "gunicorn", app, "--bind=127.0.0.1:0", "--workers=1", "--threads=2"),
        "--no-control-socket",
        **variables,
    )
    return server.port()


def signed_in(member: Member, port: int) -> Visitor:
    """A browser in which a member is signed in."""
    client = Client()
    client.force_login(member)
    visitor = Visitor(port)
    visitor.cookies[settings.SESSION_COOKIE_NAME] = client.cookies[settings.SESSION_COOKIE_NAME].value
    return visitor


def timed(ask: Callable[..., HTTPResponse], *arguments: str, **fields: str) -> tuple[Any, float]:
    """What is answered, and after how many seconds."""
    started = time.perf_counter()
    answer = ask(*arguments, **fields)
    return answer, time.perf_counter() - started
