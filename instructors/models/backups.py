"""The backups that were made, so that everyone can see when none was."""

from django.db import models


class BackupRun(models.Model):
    """One try to back the book up, kept once it has ended; ``error`` says why it failed and is empty if it did not.

    ``made_at`` is the moment that the backup shows. ``place`` is a path on the server or a word; ``size`` is in bytes.
    """

    made_at = models.DateTimeField()
    ended_at = models.DateTimeField()
    place = models.CharField(max_length=200)
    size = models.PositiveBigIntegerField(default=0)
    missing_count = models.PositiveIntegerField(default=0)
    error = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["-ended_at"]
        indexes = [models.Index(fields=["-made_at"], name="backup_run_by_moment")]

    def __str__(self) -> str:
        return f"{self.made_at:%Y-%m-%d %H:%M}, {self.error or self.place}"
