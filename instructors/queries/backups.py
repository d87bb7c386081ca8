"""Reads of the backups that were made."""

from instructors.models import BackupRun


def last_backup() -> BackupRun | None:
    """The newest backup that was made; None if there is none."""
    return BackupRun.objects.filter(error="").order_by("-made_at").first()


def backup_failed_since(last: BackupRun | None) -> BackupRun | None:
    """The newest try that failed after ``last``, if any."""
    failed = BackupRun.objects.exclude(error="")
    return (failed.filter(ended_at__gt=last.ended_at) if last else failed).order_by("-ended_at").first()
