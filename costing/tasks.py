"""Tasks of the costs: each calls one function."""

from celery import shared_task
from django.utils import timezone

from costing.actions import make_all_due, sweep_receipts
from costing.closing import close_past_months


@shared_task
def close_months() -> None:
    """Close every month whose closing day has come; closed months stay as they are."""
    close_past_months(timezone.localdate())


@shared_task
def make_what_repeats() -> None:
    """Make the entries of all that repeats and fell due by today, each once however often this runs."""
    make_all_due(timezone.localdate())


@shared_task
def sweep() -> None:
    """Delete files of receipts whose save failed."""
    sweep_receipts()
