"""The site without other servers: one web process with a few threads, which keeps the schedule as well."""

import socket
from typing import Any

from django.conf import settings
from gunicorn.app.base import BaseApplication
from gunicorn.util import parse_address

from config.loops import start_beside_pages
from config.refusal import CannotStart
from config.site import DEFAULT_HOST, DEFAULT_PORT, remember_served_at, site_url, url_of

THREADS = 8
DEFAULT_ADDRESS = f"{DEFAULT_HOST}:{DEFAULT_PORT}"


def shown(address: str) -> str:
    """The address to open in a browser on this machine for a site that listens at ``address`` (host:port)."""
    parts = parse_address(address, default_port=str(DEFAULT_PORT))
    return url_of(*parts) if isinstance(parts, tuple) else address


def _require_free(address: str) -> None:
    """Look before gunicorn does, which would try for seconds and name no way out."""
    try:
        host, port = parse_address(address, default_port=str(DEFAULT_PORT))
        family, *_, where = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)[0]
        socket.create_server((where[0], port), family=family).close()
    except (OSError, OverflowError, RuntimeError) as error:
        why = str(getattr(error, "strerror", None) or error).rstrip(".")
        raise CannotStart(
            f"The book cannot be served at {address} ({why}). Stop what is served there, or name another:"
            " `manage.py serve HOST:PORT`."
        ) from error


class EmbeddedServer(BaseApplication):
    """Serve the site at ``address`` (host:port), with the schedule running beside it."""

    def __init__(self, address: str) -> None:
        self.address = address
        super().__init__()

    def run(self) -> None:
        """Serve until the process is ended. Raises CannotStart if nothing can be served at the address."""
        _require_free(self.address)
        super().run()

    def load_config(self) -> None:
        # One worker keeps one schedule, which ends when the worker ends.
        options = {
            "bind": self.address,
            "workers": 1,
            "threads": THREADS,
            "when_ready": self._say_where,
            "post_worker_init": lambda worker: start_beside_pages(),
            "loglevel": "warning",
            "control_socket_disable": True,
            # TRUSTED_PROXIES alone decides whether to believe a proxy.
            "secure_scheme_headers": {},
        }
        for name, value in options.items():
            if name in self.cfg.settings:
                self.cfg.set(name, value)

    def _say_where(self, arbiter: Any) -> None:
        """Print the address once the server listens, and keep it for links; port 0 lets the system choose one."""
        host, *_ = parse_address(self.address, default_port=str(DEFAULT_PORT))
        remember_served_at(host, arbiter.LISTENERS[0].sock.getsockname()[1])
        print(f"The book is served at {site_url()}/   (Ctrl-C stops it)", flush=True)

    def load(self) -> Any:
        # A first look collects no static files here, but the server would warn of a missing folder.
        settings.STATIC_ROOT.mkdir(parents=True, exist_ok=True)
        from config.wsgi import application  # imported late, because it sets Django up, which the command has done

        return application
