"""The task queue and its schedule. The work itself is a row in the database; a task only prompts somebody to do it."""

import logging
import os
from typing import Any

from celery import Celery, Task
from celery.app.log import Logging
from celery.loaders.app import AppLoader
from celery.schedules import crontab

from config.logs import formatter
from config.request_id import TASK_HEADER, work_for

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")


class BookLogging(Logging):
    """Has the worker and beat, which log through handlers of their own, write the lines that the site writes."""

    def setup_handlers(self, logger: logging.Logger, *args: Any, **kwargs: Any) -> logging.Logger:
        """Set them up."""
        from django.conf import settings

        super().setup_handlers(logger, *args, **kwargs)
        for handler in logger.handlers:
            handler.setFormatter(formatter(settings.LOG_FORM))
        return logger


class BookLoader(AppLoader):
    """Starts the worker and beat, if the database is that of this release."""

    def on_worker_init(self) -> None:
        # Only now is Django set up.
        from config.loops import WorkerLoops
        from config.release import require_current

        require_current()
        self.app.steps["worker"].add(WorkerLoops)

    def on_task_init(self, task_id: str, task: Task) -> None:
        """Have what a task writes down carry the id of the request that handed it over, if one did."""
        if not task.request.is_eager:
            work_for((task.request.headers or {}).get(TASK_HEADER, ""))

    def on_process_cleanup(self) -> None:
        """What comes after the task is about another request, or none."""
        work_for("")


app = Celery("book", loader="config.celery:BookLoader", log="config.celery:BookLogging")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()

# Nothing runs between 00:00 and 04:00 local time, when a clock change would run it late or twice; only `watch`, which
# may be either, looks round the clock whether members are being told. The reminders run every hour and serve each
# member whose hour has come, so a server that was down catches up at the next hour.
app.conf.beat_schedule = {
    "remind": {"task": "fleet.tasks.remind_today", "schedule": crontab(minute=0, hour="4-23")},
    "watch": {"task": "fleet.tasks.watch", "schedule": crontab(minute="*")},
    "note-feed-reads": {"task": "fleet.tasks.note_feed_reads", "schedule": crontab(minute="*/5", hour="4-23")},
    "close-months": {"task": "costing.tasks.close_months", "schedule": crontab(minute=30, hour="4-23/6")},
    "make-what-repeats": {"task": "costing.tasks.make_what_repeats", "schedule": crontab(minute=10, hour="4-23")},
    "make-papers": {"task": "costing.tasks.make_waiting_papers", "schedule": crontab(minute="*", hour="4-23")},
    "sweep-receipts": {"task": "costing.tasks.sweep", "schedule": crontab(minute=40, hour=4)},
    "forget-sessions": {"task": "instructors.tasks.forget_sessions", "schedule": crontab(minute=50, hour=4)},
    "back-up": {"task": "instructors.tasks.back_up", "schedule": crontab(minute=20, hour="4-23")},
    "drill": {"task": "instructors.tasks.drill", "schedule": crontab(minute=35, hour="4-23")},
    "forget-acts": {"task": "instructors.tasks.forget_acts", "schedule": crontab(minute=45, hour=4)},
}

#: What is run every few seconds, at every hour, beside the tasks of the worker and the pages of the embedded server:
#: rows say what is to be done, and no clock. A nudge only makes it quicker.
WATCHED = ("fleet.tasks.retry_mail", "instructors.tasks.retry_act_mail")
