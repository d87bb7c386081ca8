"""The task queue and its schedule. The work itself is a row in the database; a task only prompts somebody to do it."""

import os

from celery import Celery
from celery.loaders.app import AppLoader
from celery.schedules import crontab

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")


class BookLoader(AppLoader):
    """Starts the worker and beat, if the database is that of this release."""

    def on_worker_init(self) -> None:
        # Only now is Django set up.
        from config.release import require_current

        require_current()


app = Celery("book", loader="config.celery:BookLoader")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()

# Nothing runs between 00:00 and 04:00 local time, when a clock change would run it late or twice. The reminders
# run every hour and serve each member whose hour has come, so a server that was down catches up at the next hour.
# `watch-runs` then looks whether they still run.
app.conf.beat_schedule = {
    "remind": {"task": "fleet.tasks.remind_today", "schedule": crontab(minute=0, hour="4-23")},
    "retry-mail": {"task": "fleet.tasks.retry_mail", "schedule": crontab(minute="*/5", hour="4-23")},
    "retry-act-mail": {"task": "instructors.tasks.retry_act_mail", "schedule": crontab(minute="*/5", hour="4-23")},
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
