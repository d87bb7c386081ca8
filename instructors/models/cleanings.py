"""When the book last deleted what it need not keep."""

from django.db import models


class Cleaning(models.Model):
    """The last time that one sort of thing was cleaned away, by its name in the table of ``settings.RETENTION``."""

    name = models.SlugField(max_length=40, unique=True)
    at = models.DateTimeField()
    count = models.PositiveIntegerField(default=0, help_text="How much was deleted then.")

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return f"{self.name}: {self.count} on {self.at:%Y-%m-%d}"
