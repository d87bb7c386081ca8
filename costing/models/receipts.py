"""Receipts: pictures of what was paid, each one a JPEG that the book encoded itself."""

import uuid
from typing import cast

from django.db import models
from django.db.models import Q
from django.utils import timezone

from costing.models.entries import CostEntry, Fill
from instructors.models import Member


def place_of_receipt(receipt: "Receipt", filename: str) -> str:
    """The path of a receipt's picture: a name of the book's own, never the uploader's."""
    return f"receipts/{receipt.pk}.jpg"


def place_of_thumbnail(receipt: "Receipt", filename: str) -> str:
    """The path of its thumbnail."""
    return f"receipts/{receipt.pk}-small.jpg"


class Receipt(models.Model):
    """One page of paper for one cost or fill; ``position`` puts the pages of an entry in order.

    ``size`` is what both files take, in bytes: a member has a quota.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    member = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    cost = models.ForeignKey(CostEntry, on_delete=models.PROTECT, null=True, blank=True, related_name="receipts")
    fill = models.ForeignKey(Fill, on_delete=models.PROTECT, null=True, blank=True, related_name="receipts")
    position = models.PositiveSmallIntegerField()
    picture = models.FileField(upload_to=place_of_receipt, editable=False)
    thumbnail = models.FileField(upload_to=place_of_thumbnail, editable=False)
    size = models.PositiveIntegerField()
    created_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        ordering = ["position", "created_at"]
        constraints = [
            models.CheckConstraint(
                condition=Q(cost__isnull=False, fill__isnull=True) | Q(cost__isnull=True, fill__isnull=False),
                name="receipt_of_a_cost_or_a_fill",
            ),
        ]
        indexes = [models.Index(fields=["member"], name="receipt_of_member")]

    def __str__(self) -> str:
        return f"Receipt {self.pk}"

    @property
    def entry(self) -> CostEntry | Fill:
        """The entry that it belongs to; a constraint of the table lets it have one alone."""
        return self.cost or cast(Fill, self.fill)
