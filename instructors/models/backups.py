"""The backups that were made, and what they proved to be worth, so that everyone can see when none was."""

from django.db import models


class BackupRun(models.Model):
    """One try to back the book up, kept once it has ended; ``error`` says why it failed and is empty if it did not.

    ``made_at`` is the moment that the backup shows. ``place`` is a path on the server or a word; ``size`` is in bytes.
    ``missing_count`` is of the files that a row names, that were not there and were not recorded as lost for good.
    ``sha256`` is the sum of the file as it was written, in hexadecimal; empty for one made before sums were kept.
    """

    made_at = models.DateTimeField()
    ended_at = models.DateTimeField()
    place = models.CharField(max_length=200)
    size = models.PositiveBigIntegerField(default=0)
    sha256 = models.CharField(max_length=64, blank=True, default="", db_default="")
    missing_count = models.PositiveIntegerField(default=0)
    error = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["-ended_at"]
        indexes = [models.Index(fields=["-made_at"], name="backup_run_by_moment")]

    def __str__(self) -> str:
        return f"{self.made_at:%Y-%m-%d %H:%M}, {self.error or self.place}"


class BackupDrill(models.Model):
    """One try to restore a backup into a scratch book, kept once it has ended.

    ``error`` says what was not as it was backed up, or why nothing could be restored; empty if all came back.
    ``backup`` is the one that was looked at. ``was_opened`` if it was restored itself; a sealed one is only held
    against its sum, and a copy in clear of the same book, as it was at ``made_at``, is restored instead.
    """

    backup = models.ForeignKey(BackupRun, on_delete=models.PROTECT, related_name="drills")
    ended_at = models.DateTimeField()
    was_opened = models.BooleanField(default=False)
    made_at = models.DateTimeField(null=True)
    row_count = models.PositiveBigIntegerField(default=0)
    file_count = models.PositiveIntegerField(default=0)
    error = models.CharField(max_length=500, blank=True)

    class Meta:
        ordering = ["-ended_at"]

    def __str__(self) -> str:
        return f"{self.ended_at:%Y-%m-%d %H:%M}, {self.error or self.backup.place}"
