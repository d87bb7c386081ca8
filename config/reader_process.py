"""Readers of what people send: each runs in a process of its own, for which nobody waits without end."""

import subprocess
import sys
import threading
import time
from pathlib import Path

from config import budgets


class TakesTooLong(Exception):
    """The time for it is over: the server is busy, or the file makes its reader wait."""


class TimeLeft:
    """The time by the clock for all files of one post, from now on."""

    def __init__(self) -> None:
        self._ends = time.monotonic() + budgets.FILES_SECONDS

    @property
    def seconds(self) -> float:
        """What is left of it. Raises TakesTooLong if nothing is."""
        left = self._ends - time.monotonic()
        if left <= 0:
            raise TakesTooLong
        return left


def read_by(
    script: Path, *arguments: str, content: bytes, turn: threading.Semaphore, left: TimeLeft
) -> subprocess.CompletedProcess[bytes]:
    """Have a script of ours read ``content``, once it is its ``turn``. Raises TakesTooLong, and the process is gone."""
    # Isolated, so that it sees neither our folder, whose http.py would hide the library's, nor the secret settings.
    command = [sys.executable, "-I", str(script), *arguments]
    if not turn.acquire(timeout=left.seconds):
        raise TakesTooLong
    try:
        return subprocess.run(  # noqa: S603 - ours
            command, input=content, capture_output=True, check=False, env={}, timeout=left.seconds
        )
    except subprocess.TimeoutExpired:
        raise TakesTooLong from None
    finally:
        turn.release()
