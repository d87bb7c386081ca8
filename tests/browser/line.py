"""A telephone line to the book that a test cuts and mends: what is on it when it is cut is lost, halfway or not."""

import contextlib
import socket
import threading
from typing import Self


class Line:
    """Carries bytes from a port of its own to that of a site; use it in ``with``."""

    def __init__(self, to_port: int) -> None:
        self._to_port = to_port
        self._open: list[socket.socket] = []
        self._is_cut = False
        self._taking = socket.create_server(("127.0.0.1", 0))
        self.url = f"http://localhost:{self._taking.getsockname()[1]}"
        threading.Thread(target=self._take, daemon=True).start()

    def cut(self) -> None:
        """Drop every call, and answer no new one."""
        self._is_cut = True
        while self._open:
            end = self._open.pop()
            with contextlib.suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)
            end.close()

    def mend(self) -> None:
        """Answer calls again."""
        self._is_cut = False

    def _take(self) -> None:
        with contextlib.suppress(OSError):
            while True:
                phone, _ = self._taking.accept()
                if self._is_cut:
                    phone.close()
                    continue
                site = socket.create_connection(("127.0.0.1", self._to_port))
                self._open += [phone, site]
                for one, other in ((phone, site), (site, phone)):
                    threading.Thread(target=_carry, args=(one, other), daemon=True).start()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._taking.close()
        self.cut()


def _carry(one: socket.socket, other: socket.socket) -> None:
    with contextlib.suppress(OSError):
        while heard := one.recv(65_536):
            other.sendall(heard)
    for end in (one, other):
        with contextlib.suppress(OSError):
            end.shutdown(socket.SHUT_RDWR)
