"""The site without other servers: one web process of a few threads that keeps the schedule as well."""

import threading
from typing import Any

from django.conf import settings
from gunicorn.app.base import BaseApplication
from gunicorn.util import parse_address

from config.schedule import keep_schedule
from config.site import DEFAULT_HOST, DEFAULT_PORT, remember_served_at, site_url, url_of

THREADS = 8
DEFAULT_ADDRESS = f"{DEFAULT_HOST}:{DEFAULT_PORT}"


def shown(address: str) -> str:
    """What to open in a browser on this machine to reach a site that listens at ``address`` (host:port)."""
    parts = parse_address(address, default_port=str(DEFAULT_PORT))
    return url_of(*parts) if isinstance(parts, tuple) else address


class EmbeddedServer(BaseApplication):
    """Serve the site at ``address`` (host:port), with the schedule running beside it."""

    def __init__(self, address: str) -> None:
        self.address = address
        super().__init__()

    def load_config(self) -> None:
        # One worker, so that one schedule is kept; it ends with the worker.
        options = {
            "bind": self.address,
            "workers": 1,
            "threads": THREADS,
            "when_ready": self._say_where,
            "post_worker_init": _start_schedule,
            "loglevel": "warning",
            "control_socket_disable": True,
            # Whether a proxy is believed is TRUSTED_PROXIES' to say, not the server's own default.
            "secure_scheme_headers": {},
        }
        for name, value in options.items():
            if name in self.cfg.settings:
                self.cfg.set(name, value)

    def _say_where(self, arbiter: Any) -> None:
        """Once it listens, and at a port of the system's choosing for port 0: what links begin with."""
        host, *_ = parse_address(self.address, default_port=str(DEFAULT_PORT))
        remember_served_at(host, arbiter.LISTENERS[0].sock.getsockname()[1])
        print(f"The book is served at {site_url()}/   (Ctrl-C stops it)", flush=True)

    def load(self) -> Any:
        # Nothing is collected there on a first look, but its absence would be warned of.
        settings.STATIC_ROOT.mkdir(parents=True, exist_ok=True)
        from config.wsgi import application  # it sets Django up, which the command that serves has done by then

        return application


def _start_schedule(worker: Any) -> None:
    threading.Thread(target=keep_schedule, args=[threading.Event()], name="schedule", daemon=True).start()
