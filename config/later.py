"""Work that takes longer than a page may: handed over after commit, so that the page answers at once.

The work itself is a row: if what is handed over is lost, the next sweep of the schedule finds that row.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from queue import Empty, SimpleQueue

from django.conf import settings
from django.db import transaction
from django.utils.module_loading import import_string

from config.request_id import TASK_HEADER, current_request_id

#: A task, its arguments, and the id of the request that handed it over.
Handed = tuple[str, tuple[object, ...], str]

#: What was handed to the loop of this process, oldest first.
_handed: SimpleQueue[Handed] = SimpleQueue()
#: Set while such a loop runs in this process.
_loops: list[object] = []


def soon(task: str, *arguments: object) -> None:
    """Have a task run soon, once the transaction has committed: by the worker, or by the loop of the embedded server.

    A process that has neither, such as a command, runs it itself. The task is imported by name when needed, because
    tasks lie above the callers of this function.
    """
    transaction.on_commit(lambda: _hand_over(task, arguments), robust=True)


@contextmanager
def taking_over() -> Iterator[None]:
    """Within it, a loop of this process takes what is handed over."""
    loop = object()
    _loops.append(loop)
    try:
        yield
    finally:
        _loops.remove(loop)


def next_handed(seconds: float) -> Handed | None:
    """The next task that was handed over, with its arguments; None if there is none for so many seconds."""
    try:
        return _handed.get(timeout=seconds)
    except Empty:
        return None


def _hand_over(task: str, arguments: tuple[object, ...]) -> None:
    request_id = current_request_id()
    if settings.EMBEDDED and _loops:
        _handed.put((task, arguments, request_id))
    else:
        import_string(task).apply_async(arguments, headers={TASK_HEADER: request_id})
