"""Whatever keeps the schedule shows that it runs: beat, or the loop of the embedded server."""

import logging
import time
from collections.abc import Callable
from typing import Any, cast

from celery.beat import PersistentScheduler
from django.conf import settings
from django.db import Error, close_old_connections
from django.utils.module_loading import import_string

logger = logging.getLogger(__name__)

#: Seconds between two pulses.
PULSE_EVERY = 50


class Pulse:
    """Tells ``settings.SCHEDULE_KEPT`` now and again; a database that does not answer is no reason to stop."""

    def __init__(self) -> None:
        self._next = time.monotonic()

    def beat(self) -> None:
        """Tell it if the last time is long enough ago."""
        if time.monotonic() < self._next:
            return
        self._next = time.monotonic() + PULSE_EVERY
        close_old_connections()
        try:
            cast(Callable[[], None], import_string(settings.SCHEDULE_KEPT))()
        except Error as error:
            logger.warning("That the schedule is kept could not be noted: %s", type(error).__name__)
        finally:
            close_old_connections()


class Scheduler(PersistentScheduler):
    """Celery's own, with a pulse before each look at what is due; it looks at all anew if the clock was put back."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        self._pulse = Pulse()
        self._looked_at = time.time()
        super().__init__(*args, **kwargs)

    def tick(self, *args: Any, **kwargs: Any) -> float:
        self._pulse.beat()
        if time.time() < self._looked_at:
            # It waits for what comes first, in the order of moments by the clock as it was.
            self._heap = None
        self._looked_at = time.time()
        return float(super().tick(*args, **kwargs))
