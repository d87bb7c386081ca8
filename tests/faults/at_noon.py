"""The book's task queue for a worker that starts at noon, so that reminders are due, and looks every second.

With SECONDS_BEFORE_NOON, so many seconds before: what the schedule has for noon falls due while it runs.
"""

import os
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import time_machine

from config import loops
from config.celery import app

__all__ = ["app"]

_NOON = datetime.now(ZoneInfo("Europe/London")).replace(hour=12, minute=0, second=0)
time_machine.travel(_NOON - timedelta(seconds=int(os.environ.get("SECONDS_BEFORE_NOON", 0)))).start()
loops.LOOK_EVERY = loops.WATCH_EVERY = 1
