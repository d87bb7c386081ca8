"""The book's task queue for a worker that starts at noon, so that reminders are due, and looks every second."""

from datetime import datetime
from zoneinfo import ZoneInfo

import time_machine

from config import loops
from config.celery import app

__all__ = ["app"]

_NOON = datetime.now(ZoneInfo("Europe/London")).replace(hour=12, minute=0)
time_machine.travel(_NOON).start()
loops.LOOK_EVERY = loops.WATCH_EVERY = 1
