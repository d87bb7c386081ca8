"""Plumbing that knows no app: settings, addresses, the task queue, mail and HTTP helpers."""

from config.celery import app as celery_app

__all__ = ["celery_app"]
