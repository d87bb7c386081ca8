"""The book served so that it does what the first form asks for, commits it, says so in its log, and never answers."""

import time
from collections.abc import Callable, Iterable
from typing import Any

from config.wsgi import application as book

__all__ = ["application"]


def application(environ: dict[str, Any], start_response: Callable[..., Any]) -> Iterable[bytes]:
    """Answer as the book does, but for forms."""
    answer: Iterable[bytes] = book(environ, start_response)
    if environ["REQUEST_METHOD"] == "POST":
        print("saved and mute", flush=True)
        time.sleep(600)
    return answer
