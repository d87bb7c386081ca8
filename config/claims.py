"""Who holds a claim on a row: a process, named so that it can be told whether it still runs."""

import os
import socket
from pathlib import Path

_FIELDS_BEFORE_START = 20  # of those after the program's name: the 22nd of the line
_ENDED = {"Z", "X"}


def this_process() -> str:
    """The name of this process: host, process id, and when it started, as ids are used again."""
    return f"{socket.gethostname()}/{os.getpid()}/{_started(os.getpid())}"


def has_ended(holder: str) -> bool:
    """Whether the process of that name certainly runs no more; of another host's that is never certain."""
    host, _, rest = holder.rpartition("/")[0].rpartition("/")
    started = holder.rpartition("/")[2]
    if host != socket.gethostname() or not rest.isdigit():
        return False
    return _started(int(rest)) != started


def _started(pid: int) -> str | None:
    """When a process of this host started, in the kernel's ticks since boot; None if there is none such.

    Where the system does not tell (no /proc), every running process is taken to have started at 0.
    """
    if not Path("/proc/self/stat").exists():
        return "0" if _runs(pid) else None
    try:
        # The name stands in parentheses and may hold anything, spaces and parentheses too.
        fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    except OSError:
        return None
    return None if fields[0] in _ENDED else fields[_FIELDS_BEFORE_START - 1]


def _runs(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    except PermissionError:
        pass  # somebody else's, but it runs
    return True
