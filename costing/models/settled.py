"""Which payments of what repeats are settled by costs that their members logged by hand."""

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q
from simple_history.models import HistoricalRecords

from costing.models.batches import Repeat
from costing.models.entries import CostEntry
from instructors.models import Member


class SettledDue(models.Model):
    """A cost that stands for the payment of one due day of a repeat, so that no other entry does.

    ``amount`` is what the payment itself would have come to, in pounds: that falls due again once the cost no longer
    stands for it (``ended_at``).
    """

    cost = models.OneToOneField(CostEntry, on_delete=models.PROTECT, related_name="settles")
    repeat = models.ForeignKey(Repeat, on_delete=models.PROTECT, related_name="settled")
    member = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    due_on = models.DateField()
    amount = models.DecimalField(max_digits=9, decimal_places=2, validators=[MinValueValidator(0)])
    ended_at = models.DateTimeField(null=True, blank=True, editable=False)

    history = HistoricalRecords()

    class Meta:
        ordering = ["repeat", "-due_on"]
        constraints = [
            models.UniqueConstraint(
                fields=["repeat", "due_on"], condition=Q(ended_at__isnull=True), name="due_day_settled_once"
            ),
            models.CheckConstraint(condition=Q(amount__gt=0), name="settled_due_of_some_amount"),
        ]

    def __str__(self) -> str:
        return f"{self.repeat}: {self.due_on}"
