"""The schedule without a broker: one loop runs the same tasks at the same times, in this process."""

import logging
import threading
from collections.abc import Iterator
from datetime import datetime

from django.db import close_old_connections
from django.utils import timezone

from config.celery import app

logger = logging.getLogger(__name__)

#: Seconds between two looks at the schedule; its finest entry is of minutes.
LOOK_EVERY = 20


def keep_schedule(stop: threading.Event) -> None:
    """Run each scheduled task when it falls due, until ``stop`` is set. A task that fails is logged."""
    app.loader.import_default_modules()
    last_runs = dict.fromkeys(app.conf.beat_schedule, app.now())
    while not stop.wait(LOOK_EVERY):
        for name in list(_fallen_due(last_runs)):
            last_runs[name] = app.now()
            _run(app.conf.beat_schedule[name]["task"])


def _fallen_due(last_runs: dict[str, datetime]) -> Iterator[str]:
    for name, entry in app.conf.beat_schedule.items():
        if entry["schedule"].is_due(last_runs[name]).is_due:
            yield name


def _run(task: str) -> None:
    close_old_connections()
    started = timezone.now()
    try:
        app.tasks[task].apply(throw=True)
    except Exception:
        # Whatever a task meets, the loop goes on: the next run finds what this one left undone.
        logger.exception("%s failed", task)
    else:
        logger.info("%s took %.1f s", task, (timezone.now() - started).total_seconds())
    finally:
        close_old_connections()
