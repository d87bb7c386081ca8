"""The task queue and its schedule. The work itself is a row in the database; a task only prompts somebody to do it."""

import logging
import os
from typing import Any

from celery import Celery, Task
from celery.loaders.app import AppLoader
from celery.schedules import crontab
from celery.signals import after_setup_logger, after_setup_task_logger, task_postrun, task_prerun

from config.logs import formatter
from config.request_id import TASK_HEADER, current_request_id, working_for

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")


@after_setup_logger.connect
@after_setup_task_logger.connect
def write_as_the_site_does(logger: logging.Logger, **_: Any) -> None:
    """Have the worker and beat, which log through handlers of their own, write the lines that the site writes."""
    from django.conf import settings

    for handler in logger.handlers:
        handler.setFormatter(formatter(settings.LOG_FORM))


class BookLoader(AppLoader):
    """Starts the worker and beat, if the database is that of this release."""

    def on_worker_init(self) -> None:
        # Only now is Django set up.
        from config.loops import WorkerLoops
        from config.release import require_current

        require_current()
        self.app.steps["worker"].add(WorkerLoops)


@task_prerun.connect
def begin_for_its_request(task: Task, **_: Any) -> None:
    """Have what a task writes down carry the id of the request that handed it over, if one did."""
    given = (task.request.headers or {}).get(TASK_HEADER)
    task.request.working_for = working_for(given or current_request_id())
    task.request.working_for.__enter__()


@task_postrun.connect
def end_for_its_request(task: Task, **_: Any) -> None:
    """What comes after the task is about another request, or none."""
    task.request.working_for.__exit__(None, None, None)


app = Celery("book", loader="config.celery:BookLoader")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()

# Nothing runs between 00:00 and 04:00 local time, when a clock change would run it late or twice. The reminders
# run every hour and serve each member whose hour has come, so a server that was down catches up at the next hour.
# `watch-runs` then looks whether they still run.
app.conf.beat_schedule = {
    "remind": {"task": "fleet.tasks.remind_today", "schedule": crontab(minute=0, hour="4-23")},
    "watch-runs": {"task": "fleet.tasks.watch_runs", "schedule": crontab(minute=30, hour="4-23")},
    "note-feed-reads": {"task": "fleet.tasks.note_feed_reads", "schedule": crontab(minute="*/5", hour="4-23")},
    "close-months": {"task": "costing.tasks.close_months", "schedule": crontab(minute=30, hour="4-23/6")},
    "make-what-repeats": {"task": "costing.tasks.make_what_repeats", "schedule": crontab(minute=10, hour="4-23")},
    "make-papers": {"task": "costing.tasks.make_waiting_papers", "schedule": crontab(minute="*", hour="4-23")},
    "sweep-receipts": {"task": "costing.tasks.sweep", "schedule": crontab(minute=40, hour=4)},
    "forget-sessions": {"task": "instructors.tasks.forget_sessions", "schedule": crontab(minute=50, hour=4)},
    "back-up": {"task": "instructors.tasks.back_up", "schedule": crontab(minute=20, hour="4-23")},
    "forget-acts": {"task": "instructors.tasks.forget_acts", "schedule": crontab(minute=45, hour=4)},
}

#: What is run every few seconds, at every hour, beside the tasks of the worker and the pages of the embedded server:
#: rows say what is to be done, and no clock. A nudge only makes it quicker.
WATCHED = ("fleet.tasks.retry_mail", "instructors.tasks.retry_act_mail")
