"""Where the book's files lie, and which of them are lost for good."""

from django.db import models


class FilesPlace(models.Model):
    """Where this installation keeps the book's files: one row at most.

    ``name`` is that of a store, as pages and logs may tell it; empty for the disk. ``answered_at`` is when the store
    last answered as it should.
    """

    name = models.CharField(max_length=400, blank=True)
    noted_at = models.DateTimeField()
    answered_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return f"{self.name or 'the disk'} since {self.noted_at:%Y-%m-%d %H:%M}"


class LostFile(models.Model):
    """A file that a row names and that cannot come back, as whoever runs the book has said."""

    name = models.CharField(max_length=255, unique=True)
    noted_at = models.DateTimeField()

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name
