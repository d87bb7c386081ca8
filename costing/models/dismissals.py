"""What stood out in a member's book and was dismissed by them, with their reason."""

from django.db import models
from django.utils import timezone
from simple_history.models import HistoricalRecords

from fleet.models import Car
from instructors.models import Member


class Dismissal(models.Model):
    """One thing that stood out in a member's own book of a car, and that the member says need not be asked about.

    ``kind`` and ``key`` are those of the finding (`costing.statement.core.odd`), so a new one is asked about again.
    """

    member = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    car = models.ForeignKey(Car, on_delete=models.PROTECT, related_name="+")
    kind = models.CharField(max_length=12)
    key = models.CharField(max_length=60)
    reason = models.CharField(max_length=200)
    dismissed_at = models.DateTimeField(default=timezone.now, editable=False)

    history = HistoricalRecords()

    class Meta:
        ordering = ["-dismissed_at", "-pk"]
        constraints = [
            models.UniqueConstraint(fields=["member", "car", "kind", "key"], name="dismissed_once"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.key}"
