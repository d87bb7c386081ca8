"""A server between the book and a store, which may be slow, answer something else, or say nothing at all."""

import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from http.client import HTTPConnection
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from urllib.parse import urlsplit

from config.environment import ObjectStore

_OF_ONE_WAY = {"connection", "transfer-encoding", "content-length", "expect"}


class Middleman(ThreadingHTTPServer):
    """Passes on what it is asked after ``seconds``; with a ``status``, it answers that in place of the store."""

    daemon_threads = True

    def __init__(self, behind: ObjectStore) -> None:
        super().__init__(("127.0.0.1", 0), _Handler)
        self.behind = urlsplit(behind.endpoint).netloc
        self.store = replace(behind, endpoint=f"http://127.0.0.1:{self.server_address[1]}")
        self.seconds, self.status, self.asked = 0.0, 0, 0

    def handle_error(self, request: object, client_address: object) -> None:
        """Whoever asked has given up: no news."""


class _Handler(BaseHTTPRequestHandler):
    protocol_version = "HTTP/1.1"
    server: Middleman

    def _pass_on(self) -> None:
        self.server.asked += 1
        body = self.rfile.read(int(self.headers.get("Content-Length", 0)))
        time.sleep(self.server.seconds)
        if self.server.status:
            said = b"<Error><Code>SlowDown</Code><Message>Not now</Message></Error>"
            self._answer(self.server.status, [("Content-Type", "application/xml")], said)
            return
        behind = HTTPConnection(self.server.behind)
        behind.request(self.command, self.path, body, dict(self.headers))
        answer = behind.getresponse()
        kept = [(name, value) for name, value in answer.getheaders() if name.lower() not in _OF_ONE_WAY]
        length = answer.getheader("Content-Length")
        self._answer(answer.status, kept, answer.read(), length)

    do_GET = do_PUT = do_POST = do_HEAD = do_DELETE = _pass_on

    def _answer(self, status: int, headers: list[tuple[str, str]], body: bytes, length: str | None = None) -> None:
        self.send_response(status)
        for name, value in headers:
            self.send_header(name, value)
        self.send_header("Content-Length", (self.command == "HEAD" and length) or str(len(body)))
        self.end_headers()
        if self.command != "HEAD":
            self.wfile.write(body)

    def log_message(self, *_: object) -> None:
        """Nobody reads it."""


@contextmanager
def middleman(behind: ObjectStore) -> Iterator[Middleman]:
    """One before a store, whose ``store`` is what the book is to be told; gone afterwards."""
    with Middleman(behind) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        try:
            yield server
        finally:
            server.shutdown()
