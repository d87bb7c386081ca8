"""The book's task queue for a worker whose clock a test sets: ``celery -A tests.faults.travelling worker``.

While a task runs it is the moment that the test has put into Redis. Between tasks the clock is the real one, as
the worker's dealings with its broker go by that.
"""

import os
from datetime import datetime
from typing import Any

import redis
import time_machine
from celery.signals import after_task_publish, task_postrun, task_prerun

from config import loops
from config.celery import app
from tests.faults.moments import DONE, MOMENT, SENT

__all__ = ["app"]

_board = redis.Redis.from_url(os.environ["REDIS_URL"].replace("redis+socket://", "unix://"), decode_responses=True)
_journeys: list[time_machine.travel] = []
# The worker's own loops would work between the tasks, in the real time.
loops.OF_WORKER.clear()


@task_prerun.connect
def _leave(**_: Any) -> None:
    moment = _board.get(MOMENT)
    assert isinstance(moment, str)
    _journeys.append(time_machine.travel(datetime.fromisoformat(moment), tick=False))
    _journeys[-1].start()


@after_task_publish.connect
def _count_sent(**_: Any) -> None:
    _board.incr(SENT)


@task_postrun.connect
def _come_back(**_: Any) -> None:
    _journeys.pop().stop()
    _board.incr(DONE)
