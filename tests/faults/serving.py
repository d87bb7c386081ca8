"""The web process as a server runs it, for tests that take something away from it, and browsers that ask it."""

import re
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


def serve(book_process: Start, **variables: str) -> int:
    """Start gunicorn with two threads; the port at which it listens."""
    server = book_process(
        *("-m", "gunicorn", "config.wsgi", "--bind=127.0.0.1:0", "--workers=1", "--threads=2"),
        "--no-control-socket",
        **variables,
    )
    server.wait_for_output("Listening at")
    found = re.search(r"Listening at: http://127.0.0.1:(\d+)", server.output())
    assert found
    return int(found[1])


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
