"""Secret addresses at which a calendar app reads what falls due."""

from django.db import models
from django.db.models import Q
from django.utils import timezone

from instructors.models import Member


class FeedScope(models.TextChoices):
    OWN = "own", "My own"
    GROUP = "group", "The whole group's"


class CalendarFeed(models.Model):
    """One member's feed; only a digest of the secret in its address is kept. One is in use for each scope."""

    member = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="calendar_feeds")
    scope = models.CharField(max_length=5, choices=FeedScope, default=FeedScope.OWN)
    token_digest = models.CharField(max_length=64, unique=True, editable=False)
    created_at = models.DateTimeField(default=timezone.now, editable=False)
    revoked_at = models.DateTimeField(null=True, blank=True, editable=False)

    class Meta:
        ordering = ["-created_at"]
        constraints = [
            models.UniqueConstraint(
                fields=["member", "scope"], condition=Q(revoked_at__isnull=True), name="calendar_feed_one_in_use"
            ),
            models.CheckConstraint(condition=Q(scope__in=FeedScope.values), name="calendar_feed_scope_known"),
        ]

    def __str__(self) -> str:
        return f"{self.get_scope_display()} calendar of {self.member}"
