"""How much work a call takes, and how that compares with the least that the same task could take.

Work is CPU time: of this process, of the processes it has waited for, and of the PostgreSQL process behind its
connection. On a busy machine the seconds that pass say little; they are only reported.
"""

import gc
import resource
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from statistics import median
from typing import NamedTuple

from django.db import connection
from django.test.utils import CaptureQueriesContext

ROUNDS = 15
#: Fewer seconds of the database than these are not worth a word.
_NONE = 0.0002

Call = Callable[[], object]


class Work(NamedTuple):
    """What a call took, in seconds: CPU in Python, CPU in the database, and the time that passed."""

    python: float
    database: float
    passed: float

    @property
    def cpu(self) -> float:
        """All CPU seconds."""
        return self.python + self.database


class Figure(NamedTuple):
    """One line of the bench; ``failure`` says which limit it breaks, empty for none."""

    words: str
    failure: str = ""


def nothing() -> None:
    """Do nothing between two rounds."""


def work_of(call: Call) -> Work:
    """What one call takes. What Python has thrown away is collected before, so that no call pays for another."""
    gc.collect()
    before = _now()
    call()
    return Work(*(after - start for after, start in zip(_now(), before, strict=True)))


def typical(call: Call, *, rounds: int = ROUNDS, between: Call = nothing) -> Work:
    """The median of so many rounds after one that is not counted; ``between`` follows each and is not counted."""
    call()
    between()
    return _median([_round(call, between) for _ in range(rounds)])


def alternate(call: Call, base: Call, *, rounds: int = ROUNDS, between: Call = nothing) -> tuple[Work, Work]:
    """The medians of ``call`` and of ``base``, run in turn, so that what slows the machine down slows both down."""
    pairs = []
    for each in (call, base):
        each()
        between()
    for _ in range(rounds):
        pairs.append((_round(call, between), _round(base, between)))
    ours, theirs = zip(*pairs, strict=True)
    return _median(ours), _median(theirs)


def statements(call: Call, *, between: Call = nothing) -> int:
    """How many SQL statements a call takes; the first after signing in takes more, and is not counted."""
    call()
    between()
    with CaptureQueriesContext(connection) as captured:
        call()
        return len(captured)


def compared(what: str, work: Work, base_words: str, base: Work) -> str:
    """The line that sets the work of a call beside its base."""
    alone = f", {work.python / base.python:.1f} in Python alone" if base.database > _NONE else ""
    return f"{what}: {in_words(work)}; {base_words} {in_words(base)}: ratio {ratio(work, base):.1f}{alone}"


def ratio(work: Work, base: Work) -> float:
    """How many times the CPU time of ``base`` the work took."""
    return work.cpu / base.cpu


def in_words(work: Work) -> str:
    """The CPU time in milliseconds, and how much of it the database used, if any."""
    database = f" ({work.database * 1000:,.1f} in the database)" if work.database > _NONE else ""
    return f"{work.cpu * 1000:,.1f} ms{database}"


def _round(call: Call, between: Call) -> Work:
    work = work_of(call)
    between()
    return work


def _median(rounds: Sequence[Work]) -> Work:
    return Work(*(median(column) for column in zip(*rounds, strict=True)))


def _now() -> Work:
    children = resource.getrusage(resource.RUSAGE_CHILDREN)
    python = time.process_time() + children.ru_utime + children.ru_stime
    return Work(python, _database_seconds(), time.perf_counter())


def _database_seconds() -> float:
    """The CPU seconds that the PostgreSQL process behind this connection has used since it started (proc(5))."""
    connection.ensure_connection()
    schedule = Path(f"/proc/{connection.connection.info.backend_pid}/schedstat")
    try:
        return int(schedule.read_text().split()[0]) / 1e9
    except FileNotFoundError:
        raise RuntimeError(f"The bench runs on Linux only: {schedule} is not there.") from None
