"""A web hook that really listens, over TLS, for tests of what is posted to it."""

import json
import ssl
import threading
import time
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

from tests.certificates import own_certificate
from tests.servers import wait_until


class HookServer:
    """Takes what is posted: ``taken`` holds it, oldest first. It answers ``status``, after so many ``seconds``."""

    def __init__(self, folder: Path) -> None:
        self.taken: list[dict[str, Any]] = []
        self.asked: list[str] = []
        self.status, self.seconds = 204, 0.0
        self.headers: dict[str, str] = {}
        self.certificate = own_certificate(folder)
        hook = self

        class Handler(BaseHTTPRequestHandler):
            def do_POST(self) -> None:
                body = self.rfile.read(int(self.headers["Content-Length"]))
                hook.asked.append(self.path)
                time.sleep(hook.seconds)
                if hook.status < 300:
                    hook.taken.append(json.loads(body))
                self.send_response(hook.status)
                if 300 <= hook.status < 400:
                    self.send_header("Location", f"{hook.url}/elsewhere")
                self.end_headers()

            def do_GET(self) -> None:
                self.send_response(hook.status)
                for name, value in hook.headers.items():
                    self.send_header(name, value)
                self.end_headers()

            def log_message(self, *_: object) -> None:
                pass

        class Server(ThreadingHTTPServer):
            daemon_threads = True

            def handle_error(self, *_: object) -> None:
                """A client has broken off."""

        self._server = Server(("127.0.0.1", 0), Handler)
        tls = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        tls.load_cert_chain(self.certificate)
        self._server.socket = tls.wrap_socket(self._server.socket, server_side=True)
        self._thread = threading.Thread(target=self._server.serve_forever, daemon=True)

    @property
    def url(self) -> str:
        """Its address, as ALARM_URL takes it; the path is a secret."""
        return f"https://localhost:{self._server.server_port}/secret-path"

    def wait_for(self, count: int) -> list[dict[str, Any]]:
        """What was posted, once there are ``count`` of them."""
        wait_until(lambda: len(self.taken) >= count, f"message number {count} of the web hook")
        return self.taken

    def start(self) -> None:
        """Listen."""
        self._thread.start()

    def stop(self) -> None:
        """Stop listening."""
        self._server.shutdown()
        self._server.server_close()
