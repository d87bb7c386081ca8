"""A neighbour that does not answer is left alone for a while: one request in many waits for it, and not all."""

import logging
import threading
import time
from typing import Final

logger = logging.getLogger(__name__)


class Outage:
    """Whether ``what`` was found not to answer, in this process, less than ``seconds`` ago."""

    def __init__(self, what: str, seconds: float) -> None:
        self.what, self.seconds = what, seconds
        self._guard = threading.Lock()
        self._until: float | None = None

    def is_on(self) -> bool:
        """Whether it is still to be left alone.

        Once the time is up, it is for all but one: whoever is told False asks, and then says ``begin`` or ``forget``.
        """
        with self._guard:
            now, until = time.monotonic(), self._until
            if until is None or now < until:
                return until is not None
            # If whoever asks now is never heard of again, the next one asks then.
            self._until = now + self.seconds
            return False

    def begin(self, error: BaseException) -> None:
        """Leave it alone for a while, and log why."""
        logger.warning(
            "%s does not answer (%s): the book does without it for %g s", self.what, type(error).__name__, self.seconds
        )
        self._until = time.monotonic() + self.seconds

    def forget(self) -> None:
        """It answers: let everybody ask it from now on."""
        self._until = None


#: Seconds that one request waits for one answer of Redis, of which it needs none: a nudge takes two at the most.
REDIS_PATIENCE: Final = 0.4
REDIS: Final = Outage("Redis", 10)
DATABASE: Final = Outage("The database", 2)
