"""Doors from the task queue to the book: each calls one function."""

from celery import shared_task
from django.utils import timezone

from costing.closing import ensure_closed
from costing.core.periods import last_closed_month


@shared_task
def close_month() -> None:
    """Close the month that ended last; nothing happens if it is closed already."""
    ensure_closed(last_closed_month(timezone.localdate()).first)
