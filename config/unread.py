"""What is still being sent when a request is answered: taken in and forgotten, so that the answer gets through."""

import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from typing import Any

#: How long to go on for somebody who sends and does not read. It holds a thread, as reading a form from them would.
SECONDS = 10
_PIECE = 65_536


class Answered:
    """The parts of a WSGI answer, after which the rest of the request's body is read.

    A request that is too large, or a stranger's, is answered before it has come. If the server then closed the
    connection over what still arrives, TCP would reset it (RFC 9112, 9.6): a browser, or the front, may lose the answer
    that way, and tells of a broken connection, or that the book is away.
    """

    def __init__(self, parts: Iterable[bytes], environ: dict[str, Any]) -> None:
        self._parts, self._environ = parts, environ

    def __iter__(self) -> Iterator[bytes]:
        return iter(self._parts)

    def close(self) -> None:
        """Called by the server once all parts are sent (PEP 3333)."""
        close: Callable[[], None] = getattr(self._parts, "close", lambda: None)
        try:
            close()
        finally:
            self._read_the_rest()

    def _read_the_rest(self) -> None:
        # PEP 3333 knows of no connection; without it there is no limit of time, and nothing is read.
        connection = self._environ.get("gunicorn.socket")
        if connection is None:
            return
        ends = time.monotonic() + SECONDS
        # The other side has the answer and has gone, sends nothing more, or no sense: all three are an end.
        with suppress(Exception):
            while (left := ends - time.monotonic()) > 0:
                connection.settimeout(left)
                if not self._environ["wsgi.input"].read(_PIECE):
                    break
        with suppress(OSError):
            connection.settimeout(None)
