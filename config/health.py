"""The three questions to a running book: does this process answer, can it serve, and are members being told.

The third is answered by an app, through the slot ``settings.DUTY``.
"""

import threading
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from typing import Any, cast

from django.conf import settings
from django.db import DEFAULT_DB_ALIAS, DatabaseError, connection, connections
from django.utils.module_loading import import_string

from config.release import schema

#: Seconds within which it is known whether the database answers, also if it hangs.
PATIENCE = 1.5
#: PostgreSQL's client takes whole seconds, and no fewer than two; the network may swallow what it sends for as long.
_CONNECTING = {"connect_timeout": 2, "tcp_user_timeout": 2_000}
_SILENT = "The database does not answer. Does it run? `manage.py doctor` says more."


@dataclass(frozen=True)
class Answer:
    """What one question gave: ``words`` say how it stands and, if not ``ok``, what to do.

    Anybody may read it: it names no member, no car, no sum and no address.
    """

    name: str
    ok: bool
    words: str

    def as_json(self) -> dict[str, Any]:
        return asdict(self)


def live() -> Answer:
    """That this process answers: nothing else is asked, neither a database nor a queue."""
    return Answer("live", True, "This process answers.")


def ready() -> Answer:
    """Whether the database answers and has the tables of this release; known within ``PATIENCE`` seconds."""
    words = _look_soon()
    return Answer("ready", not words, words or "The database answers, and its tables are those of this release.")


def duty() -> list[Answer]:
    """Whether members are being told, part by part; the database alone if that does not answer."""
    database = ready()
    named = Answer("database", database.ok, database.words)
    if not database.ok:
        return [named]
    return [named, *cast(Callable[[], Sequence[Answer]], import_string(settings.DUTY))()]


class _Look(threading.Thread):
    """One look at the database, by a connection of its own; a daemon, as it may never come back."""

    def __init__(self) -> None:
        super().__init__(name="look at the database", daemon=True)
        self.words = _SILENT

    def run(self) -> None:
        fresh = connection.copy()
        if fresh.vendor == "postgresql":
            fresh.settings_dict["OPTIONS"] |= _CONNECTING
        # Connections belong to threads: this is what whatever asks in this one finds.
        connections[DEFAULT_DB_ALIAS] = fresh
        try:
            self.words = schema().in_words()
        except DatabaseError:
            pass  # the words are there
        finally:
            fresh.close()


_guard = threading.Lock()
_looking: list[_Look] = []


def _look_soon() -> str:
    """What is wrong with the database. All who ask at once wait for one look, so that a hung one takes one thread."""
    with _guard:
        if not (_looking and _looking[-1].is_alive()):
            _looking[:] = [_Look()]
            _looking[-1].start()
        look = _looking[-1]
    look.join(PATIENCE)
    return _SILENT if look.is_alive() else look.words
