"""The site without other servers: one web process of a few threads that keeps the schedule as well."""

import threading
from typing import Any

from django.conf import settings
from django.core.wsgi import get_wsgi_application
from gunicorn.app.base import BaseApplication

from config.schedule import keep_schedule

THREADS = 8


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
            "post_worker_init": _start_schedule,
            "loglevel": "warning",
            "control_socket_disable": True,
        }
        for name, value in options.items():
            if name in self.cfg.settings:
                self.cfg.set(name, value)

    def load(self) -> Any:
        # Nothing is collected there on a first look, but its absence would be warned of.
        settings.STATIC_ROOT.mkdir(parents=True, exist_ok=True)
        return get_wsgi_application()


def _start_schedule(worker: Any) -> None:
    threading.Thread(target=keep_schedule, args=[threading.Event()], name="schedule", daemon=True).start()
