"""Plumbing that knows no app: settings, addresses, the task queue, mail and HTTP helpers."""

from config.celery import app as celery_app
from config.refusal import say_refusals_plainly

__all__ = ["celery_app"]

say_refusals_plainly()
