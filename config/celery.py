"""The task queue and its schedule. The work itself is a row in the database; a task only prompts somebody to do it."""

import logging
import os
from datetime import datetime, timedelta
from typing import Any

from celery import Celery, Task
from celery.app.log import Logging
from celery.loaders.app import AppLoader
from celery.schedules import crontab, schedstate

from config.logs import formatter
from config.request_id import TASK_HEADER, work_for

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")

#: A clock that is put right by less may be left to itself: what falls due is late by no more.
_AHEAD = timedelta(minutes=5)


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
    """Starts the worker and beat, if the database and the files are those of this release and of this book."""

    def on_worker_init(self) -> None:
        # Only now is Django set up.
        from config.files_place import require_files
        from config.loops import WorkerLoops
        from config.release import require_current

        require_current()
        require_files()
        self.app.steps["worker"] |= {WorkerLoops}

    def on_task_init(self, task_id: str, task: Task) -> None:
        """Have what a task writes down carry the id of the request that handed it over, if one did."""
        if not task.request.is_eager:
            work_for((task.request.headers or {}).get(TASK_HEADER, ""))

    def on_process_cleanup(self) -> None:
        """What comes after the task is about another request, or none."""
        work_for("")


class Crontab(crontab):
    """Celery's own; what ran last in the future, while the clock was ahead, is due now and not once that day comes."""

    def is_due(self, last_run_at: datetime) -> schedstate:
        """Whether it is due now, and in how many seconds to look again."""
        if last_run_at > self.now() + _AHEAD:
            return schedstate(is_due=True, next=super().is_due(self.now()).next)
        return super().is_due(last_run_at)


app = Celery("book", loader="config.celery:BookLoader", log="config.celery:BookLogging")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()

# Nothing runs between 00:00 and 04:00 local time, when a clock change would run it late or twice, but for what may be
# either: `watch` looks round the clock whether members are being told, and a paper that nobody was told of is made. The
# reminders run every hour and serve each member whose hour has come, so a server that was down catches up at the next.
app.conf.beat_schedule = {
    "remind": {"task": "fleet.tasks.remind_today", "schedule": Crontab(minute=0, hour="4-23")},
    "watch": {"task": "fleet.tasks.watch", "schedule": Crontab(minute="*")},
    "note-feed-reads": {"task": "fleet.tasks.note_feed_reads", "schedule": Crontab(minute="*/5", hour="4-23")},
    "close-months": {"task": "costing.tasks.close_months", "schedule": Crontab(minute=30, hour="4-23/6")},
    "make-what-repeats": {"task": "costing.tasks.make_what_repeats", "schedule": Crontab(minute=10, hour="4-23")},
    "make-papers": {"task": "costing.tasks.make_waiting_papers", "schedule": Crontab(minute="*")},
    "back-up": {"task": "instructors.tasks.back_up", "schedule": Crontab(minute=20, hour="4-23")},
    "drill": {"task": "instructors.tasks.drill", "schedule": Crontab(minute=35, hour="4-23")},
    "clean": {"task": "instructors.tasks.clean", "schedule": Crontab(minute=45, hour=4)},
}

#: What is run every few seconds, at every hour, beside the tasks of the worker and the pages of the embedded server:
#: rows say what is to be done, and no clock. A nudge only makes it quicker.
WATCHED = ("fleet.tasks.retry_mail", "instructors.tasks.retry_act_mail")

#: What takes hundreds of megabytes that Python does not give back: a process that goes on has another one do it.
APART = ("costing.tasks.make_paper",)
