"""The three questions to a running book: does this process answer, can it serve, and are members being told.

The third is answered by an app, through the slot ``settings.DUTY``.
"""

import math
import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Generic, TypeVar, cast

from django.conf import settings
from django.db import DEFAULT_DB_ALIAS, DatabaseError, connection, connections
from django.utils.module_loading import import_string

from config.schema import schema

#: Seconds within which it is known whether the database answers, also if it hangs.
PATIENCE = 1.5
#: PostgreSQL's client takes whole seconds, and no fewer than two; the network may swallow what it sends for as long.
_CONNECTING = {"connect_timeout": 2, "tcp_user_timeout": 2_000}
_SILENT = "The database does not answer. Does it run? `manage.py doctor` says more."


@dataclass(frozen=True)
class Answer:
    """What one question gave: ``words`` say how it stands and, if not ``ok``, what to do.

    ``instead`` stands for "well" where nothing is wrong because nothing is there yet: "not set up", "not yet".
    Anybody may read it: it names no member, no car, no sum and no address.
    """

    name: str
    ok: bool
    words: str
    instead: str = ""

    def as_json(self) -> dict[str, Any]:
        return {"name": self.name, "ok": self.ok, "words": self.words}


def live() -> Answer:
    """That this process answers: nothing else is asked, neither a database nor a queue."""
    return Answer("live", True, "This process answers.")


def ready() -> Answer:
    """Whether the database answers and has the tables of this release; known within ``PATIENCE`` seconds."""
    words = _look_soon()
    return Answer("ready", not words, words or "The database answers, and its tables are those of this release.")


def duty() -> list[Answer]:
    """Whether members are being told, part by part; the database alone if that does not answer.

    Whoever tells of a turn asks this: by something older it might tell of one that is over.
    """
    return _beside_the_database(_look_at_parts)


def duty_lately() -> list[Answer]:
    """The same for whoever asks, strangers too: all but the database is kept for ``settings.DUTY_KEPT_SECONDS``."""
    return _beside_the_database(_parts)


def _beside_the_database(look: Callable[[], Sequence[Answer]]) -> list[Answer]:
    database = ready()
    named = Answer("database", database.ok, database.words)
    if not database.ok:
        return [named]
    try:
        return [named, *look()]
    except StandsStillError:
        return [named, Answer("look", False, _STANDS_STILL)]


#: Seconds after which a look no longer takes long, but hangs: as on a folder of another machine that is away.
LOOKS_FOR = 60.0
_STANDS_STILL = "The book looks whether members are being told, and has no answer: see that no disk or folder hangs."


class StandsStillError(Exception):
    """Somebody has been looking for so long that what was found before says nothing any more."""


Found = TypeVar("Found")


class Kept(Generic[Found]):
    """What was found in this process, for ``settings.DUTY_KEPT_SECONDS``: however many ask, one looks.

    Whoever asks while somebody looks gets what was found before, or `StandsStillError` if that look hangs.
    """

    def __init__(self, look: Callable[[], Found]) -> None:
        self._look, self._guard = look, threading.Lock()
        self._found: list[Found] = []
        self._until, self._began = 0.0, math.inf

    def __call__(self) -> Found:
        """Look, unless that was done just now or is being done."""
        if not self._guard.acquire(blocking=not self._found):
            if time.monotonic() - self._began > LOOKS_FOR:
                raise StandsStillError
            return self._found[0]
        try:
            self._began = time.monotonic()
            if not self._found or time.monotonic() >= self._until:
                self._found = [self._look()]
                self._until = time.monotonic() + settings.DUTY_KEPT_SECONDS
            return self._found[0]
        finally:
            self._began = math.inf
            self._guard.release()


def _look_at_parts() -> Sequence[Answer]:
    return cast(Callable[[], Sequence[Answer]], import_string(settings.DUTY))()


_parts = Kept(_look_at_parts)


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
