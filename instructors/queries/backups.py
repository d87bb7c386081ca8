"""Reads of the backups that were made, and of the drills in which they were restored.

What a clock that was ahead noted counts from then on: until then it would hide that nothing is done.
"""

from collections.abc import Iterable
from datetime import datetime

from django.utils import timezone

from instructors.models import BackupDrill, BackupRun


def last_backup() -> BackupRun | None:
    """The newest backup that was made; None if there is none."""
    return BackupRun.objects.filter(error="", made_at__lte=timezone.now()).order_by("-made_at").first()


def backup_failed_since(last: BackupRun | None) -> BackupRun | None:
    """The newest try that failed after ``last``, if any."""
    failed = BackupRun.objects.exclude(error="")
    return (failed.filter(ended_at__gt=last.ended_at) if last else failed).order_by("-ended_at").first()


def last_good_drill() -> BackupDrill | None:
    """The newest drill in which all came back; None if there is none."""
    good = BackupDrill.objects.filter(error="", ended_at__lte=timezone.now())
    return good.select_related("backup").order_by("-ended_at").first()


def drill_failed_since(moment: datetime | None) -> BackupDrill | None:
    """The newest drill after then in which something did not come back, if any."""
    failed = BackupDrill.objects.exclude(error="").select_related("backup")
    return (failed.filter(ended_at__gt=moment) if moment else failed).order_by("-ended_at").first()


def backup_to_drill(places: Iterable[str], since: datetime | None) -> BackupRun | None:
    """The newest backup done after ``since`` at one of these places, with a known sum; None if there is none."""
    made = BackupRun.objects.filter(error="", place__in=[place[:200] for place in places]).exclude(sha256="")
    return (made.filter(ended_at__gt=since) if since else made).order_by("-made_at").first()
