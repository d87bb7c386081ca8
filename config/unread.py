"""What is still being sent when a request is answered: taken in and forgotten, so that the answer gets through."""

import errno
import socket
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from threading import Timer
from typing import Any

#: How long to go on for somebody who sends and does not read: it holds a thread.
SECONDS = 5
#: So much gunicorn takes in by itself before it closes a connection.
ENOUGH_FOR_THE_SERVER = 65_536


def told_bytes(environ: dict[str, Any]) -> int:
    """How much a request says that follows its head."""
    return int(environ.get("CONTENT_LENGTH") or 0)


def may_be_longer(environ: dict[str, Any], most: int) -> bool:
    """Whether more than so many bytes follow the head of a request, or nobody knows how many."""
    return told_bytes(environ) > most or "HTTP_TRANSFER_ENCODING" in environ


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
        """Called by the server once all parts are sent (PEP 3333). Raises BrokenPipeError if more is to come.

        gunicorn takes that as a browser that has gone, so that what comes later is read as no other request.
        """
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
        # One read goes on for as long as a byte comes now and then, unless there is an end to what can come.
        end = Timer(SECONDS, _end, [connection])
        end.start()
        try:
            while time.monotonic() < ends:
                if not self._environ["wsgi.input"].read(ENOUGH_FOR_THE_SERVER) and time.monotonic() < ends:
                    return
        except Exception as error:
            raise BrokenPipeError(errno.EPIPE, "The rest of the request makes no sense.") from error
        finally:
            end.cancel()
        raise BrokenPipeError(errno.EPIPE, "The rest of the request takes too long.")


def _end(connection: socket.socket) -> None:
    with suppress(OSError):
        connection.shutdown(socket.SHUT_RD)
