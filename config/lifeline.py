"""A process that must not outlive whoever started it, however that comes to its end: it reads the end of a pipe."""

import os
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def lifeline() -> Iterator[int]:
    """What to give such a process as its standard input, for as long as it is waited for."""
    reading, writing = os.pipe()
    try:
        yield reading
    finally:
        os.close(reading)
        os.close(writing)


def hang_on() -> None:
    """Called by that process as it begins: end at once when the pipe closes."""
    threading.Thread(target=_end_once_it_closes, daemon=True).start()


def _end_once_it_closes() -> None:
    while os.read(sys.stdin.fileno(), 1):
        pass
    os._exit(1)
