"""Tasks for a process of their own, which is no part of a test run."""

import os
import time
from pathlib import Path

from config.request_id import current_request_id


def tell(path: str) -> None:
    """A task: it writes down which process it is, and for which request it works."""
    Path(path).write_text(f"{os.getpid()} {current_request_id()}")


def hang(path: str) -> None:
    """A task without an end."""
    tell(path)
    time.sleep(600)
