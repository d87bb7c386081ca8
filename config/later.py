"""Work for after a page's answer: handed over after commit, so that the page waits neither for it nor for Redis.

The work itself is a row: if what is handed over is lost, whoever looks for such rows finds it (``config.loops``).
"""

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from enum import Enum
from queue import Empty, SimpleQueue

from django.conf import settings
from django.db import transaction
from django.utils.module_loading import import_string

from config.outage import REDIS, REDIS_PATIENCE
from config.request_id import TASK_HEADER, current_request_id

#: A task, its arguments, and the id of the request that handed it over.
Handed = tuple[str, tuple[object, ...], str]


class Lane(Enum):
    """What is handed over in one lane is done one after the other, and waits for none in the other."""

    MAIL = "mail"
    WORK = "work"


#: What was handed to the loops of this process, oldest first.
_handed: dict[Lane, SimpleQueue[Handed]] = {lane: SimpleQueue() for lane in Lane}
#: Has an entry for each such loop that runs in this process.
_loops: list[Lane] = []
#: Each thread's own way to the queue.
_own = threading.local()


def soon(task: str, *arguments: object, lane: Lane = Lane.WORK) -> None:
    """Have a task run soon, once the transaction has committed: by the worker, or by the loop of the embedded server.

    A process that has neither, such as a command, runs it itself. If the queue does not answer, that is logged. The
    task is imported by name when needed, because tasks lie above the callers of this function.
    """
    transaction.on_commit(lambda: _hand_over(lane, task, arguments), robust=True)


@contextmanager
def taking_over(lane: Lane) -> Iterator[None]:
    """Within it, a loop of this process takes what is handed over in a lane, where no queue does."""
    _loops.append(lane)
    try:
        yield
    finally:
        _loops.remove(lane)


def next_handed(lane: Lane, seconds: float) -> Handed | None:
    """The next task that was handed over, with its arguments; None if there is none for so many seconds."""
    try:
        return _handed[lane].get(timeout=seconds)
    except Empty:
        return None


def _hand_over(lane: Lane, task: str, arguments: tuple[object, ...]) -> None:
    if settings.EMBEDDED and lane not in _loops:
        import_string(task).apply_async(args=arguments, headers={TASK_HEADER: current_request_id()})
    elif settings.EMBEDDED or (not _queued(task, arguments) and lane in _loops):
        _handed[lane].put((task, arguments, current_request_id()))


def _queued(task: str, arguments: tuple[object, ...]) -> bool:
    """Put a task into the queue, within a second. False if that cannot be done now."""
    # Imported by those alone who queue anything, for it takes long: a tenth of the start of a command.
    from kombu.exceptions import OperationalError as QueueError
    from redis.exceptions import RedisError

    if REDIS.is_on():
        return False
    found = import_string(task)
    try:
        if not hasattr(_own, "producer"):
            # The worker's own settings have it wait for Redis as long as it takes; these give up at once.
            impatient = {"socket_timeout": REDIS_PATIENCE, "socket_connect_timeout": REDIS_PATIENCE, "max_retries": 0}
            _own.producer = found.app.amqp.Producer(found.app.connection_for_write(transport_options=impatient))
        headers = {TASK_HEADER: current_request_id()}
        found.apply_async(args=arguments, headers=headers, producer=_own.producer, retry=False)
    except (QueueError, RedisError, OSError) as error:
        forget_queue()
        REDIS.begin(error)
        return False
    REDIS.forget()
    return True


def forget_queue() -> None:
    """Have this thread connect to the queue anew when it next hands something over."""
    vars(_own).clear()
