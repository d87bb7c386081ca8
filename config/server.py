"""The site without other servers: one web process with a few threads, which keeps the schedule as well."""

import logging
import threading
from collections.abc import Iterator, Sequence
from datetime import datetime
from typing import Any

from django.conf import settings
from django.db import close_old_connections
from django.utils import timezone
from gunicorn.app.base import BaseApplication
from gunicorn.util import parse_address

from config.celery import app
from config.later import next_handed, taking_over
from config.request_id import working_for
from config.schedule import Pulse
from config.site import DEFAULT_HOST, DEFAULT_PORT, remember_served_at, site_url, url_of

logger = logging.getLogger(__name__)

THREADS = 8
DEFAULT_ADDRESS = f"{DEFAULT_HOST}:{DEFAULT_PORT}"
#: Seconds between two looks at the schedule, whose shortest interval is minutes.
LOOK_EVERY = 20


def shown(address: str) -> str:
    """The address to open in a browser on this machine for a site that listens at ``address`` (host:port)."""
    parts = parse_address(address, default_port=str(DEFAULT_PORT))
    return url_of(*parts) if isinstance(parts, tuple) else address


class EmbeddedServer(BaseApplication):
    """Serve the site at ``address`` (host:port), with the schedule running beside it."""

    def __init__(self, address: str) -> None:
        self.address = address
        super().__init__()

    def load_config(self) -> None:
        # One worker keeps one schedule, which ends when the worker ends.
        options = {
            "bind": self.address,
            "workers": 1,
            "threads": THREADS,
            "when_ready": self._say_where,
            "post_worker_init": _start_loops,
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


def keep_schedule(stop: threading.Event) -> None:
    """Run each scheduled task when it falls due, until ``stop`` is set. A task that fails is logged."""
    app.loader.import_default_modules()
    last_runs = dict.fromkeys(app.conf.beat_schedule, app.now())
    pulse = Pulse()
    pulse.beat()
    while not stop.wait(LOOK_EVERY):
        pulse.beat()
        for name in list(_due_entries(last_runs)):
            last_runs[name] = app.now()
            _run(app.conf.beat_schedule[name]["task"])


def take_what_is_handed_over(stop: threading.Event) -> None:
    """Run what pages hand over, one after the other, until ``stop`` is set. A task that fails is logged."""
    app.loader.import_default_modules()
    with taking_over():
        while not stop.is_set():
            if handed := next_handed(LOOK_EVERY):
                _run(*handed)


def _start_loops(worker: Any) -> None:
    # Two, so that no reminder waits for a long paper.
    for loop in (keep_schedule, take_what_is_handed_over):
        threading.Thread(target=loop, args=[threading.Event()], name=loop.__name__, daemon=True).start()


def _due_entries(last_runs: dict[str, datetime]) -> Iterator[str]:
    for name, entry in app.conf.beat_schedule.items():
        if entry["schedule"].is_due(last_runs[name]).is_due:
            yield name


def _run(task: str, arguments: Sequence[object] = (), request_id: str = "") -> None:
    close_old_connections()
    started = timezone.now()
    try:
        with working_for(request_id):
            app.tasks[task].apply(args=arguments, throw=True)
    except Exception:
        # The loop goes on whatever fails: the next run finds the work that this one left undone.
        logger.exception("%s failed", task)
    else:
        logger.info("%s took %.1f s", task, (timezone.now() - started).total_seconds())
    finally:
        close_old_connections()
