"""Names for processes that claim rows, by which another process can tell whether the claimant still runs."""

import os
import socket
from pathlib import Path

_FIELDS_BEFORE_START = 20  # counted after the program's name: it is the 22nd field of the line
_ENDED = {"Z", "X"}


def this_process() -> str:
    """The name of this process: host, process id and start time, because ids are reused."""
    return f"{socket.gethostname()}/{os.getpid()}/{_started(os.getpid())}"


def has_ended(holder: str) -> bool:
    """Whether the process with this name has certainly ended; never certain for another host's."""
    host, _, rest = holder.rpartition("/")[0].rpartition("/")
    started = holder.rpartition("/")[2]
    if host != socket.gethostname() or not rest.isdigit():
        return False
    return _started(int(rest)) != started


def _started(pid: int) -> str | None:
    """When a process of this host started, in kernel ticks since boot; None if it does not run.

    Without /proc, every running process counts as started at 0.
    """
    if not Path("/proc/self/stat").exists():
        return "0" if _runs(pid) else None
    try:
        # The program's name is in parentheses and may itself contain spaces and parentheses.
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
        pass  # another account's, but it runs
    return True
