"""What runs beside the pages or beside the tasks: threads that look for work, so that no lost nudge matters.

The embedded server keeps the schedule and does what pages hand over. The worker looks for mails that nobody was told
of, and keeps the schedule itself while Redis, by which beat reaches it, is gone or takes nothing. All tasks may run
twice: rows say what is done.
"""

import logging
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from datetime import datetime, timedelta
from functools import partial
from typing import Any

import redis
from celery import bootsteps
from celery.worker.consumer import Consumer
from celery.worker.state import maybe_shutdown
from django.db import close_old_connections
from django.utils import timezone

from config.apart import run_apart
from config.celery import APART, WATCHED, app
from config.later import Lane, next_handed, taking_over
from config.outage import REDIS_PATIENCE
from config.redis_probe import redis_client, require_room
from config.request_id import working_for
from config.schedule import Pulse

logger = logging.getLogger(__name__)

#: Seconds between two looks at the schedule, whose shortest interval is minutes.
LOOK_EVERY = 20
#: Seconds between two looks for mails that wait, by day and by night.
WATCH_EVERY = 5
#: Seconds between two looks whether Redis has room.
_LOOK_FOR_ROOM_EVERY = 5
#: What fell due in so long a time before Redis went may have been lost with its queue.
_MAY_BE_LOST = timedelta(hours=1)

Loop = Callable[[threading.Event], None]


def keep_schedule(stop: threading.Event) -> None:
    """Run each scheduled task when it falls due, until ``stop`` is set. A task that fails is logged."""
    last_runs = dict.fromkeys(app.conf.beat_schedule, app.now())
    pulse = Pulse()
    pulse.beat()
    while not stop.wait(LOOK_EVERY):
        pulse.beat()
        _run_due(last_runs)


def stand_in_for_beat(stop: threading.Event) -> None:
    """Run what falls due while Redis is gone, and what was lost with it, until ``stop`` is set."""
    known = _redis_run()
    last_runs = _an_hour_ago()
    while not stop.wait(LOOK_EVERY):
        run = _redis_run()
        if run and run == known:
            last_runs = _an_hour_ago()
        else:
            # Gone, or back with an empty queue.
            _run_due(last_runs)
        known = run


def watch(stop: threading.Event) -> None:
    """Send the mails that wait, whoever should have, until ``stop`` is set."""
    while not stop.wait(WATCH_EVERY):
        for task in WATCHED:
            _run(task, told=False)


def take_what_is_handed_over(lane: Lane, stop: threading.Event) -> None:
    """Run what is handed over in a lane, one after the other, until ``stop`` is set. A task that fails is logged."""
    with taking_over(lane):
        while not stop.is_set():
            if handed := next_handed(lane, LOOK_EVERY):
                _run(*handed)


#: That a paper takes long, or a mail server, keeps nothing else waiting.
_HANDED_OVER: list[Loop] = [partial(take_what_is_handed_over, lane) for lane in Lane]
OF_EMBEDDED_SERVER: list[Loop] = [keep_schedule, watch, *_HANDED_OVER]
#: A worker has its tasks loaded; to load them again would set Celery's own log aside.
OF_WORKER: list[Loop] = [stand_in_for_beat, watch, *_HANDED_OVER]


def start_beside_pages() -> None:
    """Start the loops of the embedded server; they end with the process."""
    app.loader.import_default_modules()
    _start(OF_EMBEDDED_SERVER)


def _start(loops: Sequence[Loop]) -> threading.Event:
    """Start each loop in a thread of its own; they end with the process, or once what is returned is set."""
    stop = threading.Event()
    for number, loop in enumerate(loops):
        threading.Thread(target=loop, args=[stop], name=f"loop {number}", daemon=True).start()
    return stop


class WorkerLoops(bootsteps.StartStopStep):
    """Starts the worker's loops, before it first waits for Redis."""

    requires = ("celery.worker.components:Pool",)

    def start(self, parent: Any) -> None:
        """Called by the worker once its processes run."""
        self.stopping = _start(OF_WORKER)

    def stop(self, parent: Any) -> None:
        """Called by the worker as it ends."""
        self.stopping.set()


class PatientConsumer(Consumer):
    """Celery's own, which waits while Redis answers and takes nothing, as it does while that is gone: to connect, also
    once more, it begins with writing."""

    def connect(self) -> Any:
        """Called to connect; the loops do what falls due meanwhile. Raises WorkerShutdown if the worker is to end."""
        while _redis_is_full():
            logger.warning("Redis takes nothing: the worker waits until it does")
            for _ in range(_LOOK_FOR_ROOM_EVERY):
                time.sleep(1)
                maybe_shutdown()
        return super().connect()


def _redis_is_full() -> bool:
    """Whether Redis answers, and can write nothing down."""
    try:
        with redis_client(REDIS_PATIENCE) as client:
            require_room(client)
    except redis.ResponseError:
        return True
    except (redis.RedisError, OSError):
        return False
    return False


def _redis_run() -> str:
    """What names this run of Redis, which forgets all when it restarts; empty if it takes nothing or is silent."""
    try:
        with redis_client(REDIS_PATIENCE) as client:
            require_room(client)
            return str(client.info("server")["run_id"])
    except (redis.RedisError, OSError):
        return ""


def _an_hour_ago() -> dict[str, datetime]:
    return dict.fromkeys(app.conf.beat_schedule, app.now() - _MAY_BE_LOST)


def _run_due(last_runs: dict[str, datetime]) -> None:
    for name in list(_due_entries(last_runs)):
        last_runs[name] = app.now()
        _run(app.conf.beat_schedule[name]["task"])


def _due_entries(last_runs: dict[str, datetime]) -> Iterator[str]:
    for name, entry in app.conf.beat_schedule.items():
        if entry["schedule"].is_due(last_runs[name]).is_due:
            yield name


def _run(task: str, arguments: Sequence[object] = (), request_id: str = "", *, told: bool = True) -> None:
    """Run a task here, for a request or for none. With ``told``, the log says how long it took."""
    close_old_connections()
    started = timezone.now()
    try:
        with working_for(request_id):
            run = app.tasks[task]
            run_apart(task, *arguments, seconds=run.time_limit) if task in APART else run(*arguments)
    except Exception:
        # The loop goes on whatever fails: the next run finds the work that this one left undone.
        logger.exception("%s failed", task)
    else:
        if told:
            logger.info("%s took %.1f s", task, (timezone.now() - started).total_seconds())
    finally:
        close_old_connections()
