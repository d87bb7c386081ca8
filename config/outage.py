"""A neighbour that does not answer is left alone for a while: one request in many waits for it, and not all."""

import logging
import time
from typing import Final

logger = logging.getLogger(__name__)


class Outage:
    """Whether ``what`` was found not to answer, in this process, less than ``seconds`` ago."""

    def __init__(self, what: str, seconds: float) -> None:
        self.what, self.seconds = what, seconds
        self._until = 0.0

    def is_on(self) -> bool:
        """Whether it is still to be left alone."""
        return time.monotonic() < self._until

    def begin(self, error: BaseException) -> None:
        """Leave it alone for a while, and log why."""
        logger.warning(
            "%s does not answer (%s): the book does without it for %g s", self.what, type(error).__name__, self.seconds
        )
        self._until = time.monotonic() + self.seconds

    def forget(self) -> None:
        """Ask it again from now on."""
        self._until = 0.0


#: Seconds that one request waits for one answer of Redis, of which it needs none: a nudge takes two at the most.
REDIS_PATIENCE: Final = 0.4
REDIS: Final = Outage("Redis", 10)
DATABASE: Final = Outage("The database", 2)
