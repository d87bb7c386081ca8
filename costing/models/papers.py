"""Papers: files that take longer than a page may, each a row whose state changes by conditional updates alone."""

import uuid
from datetime import datetime, timedelta

from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from config import budgets, claims
from costing.core.catalogue.papers import PAPER_KINDS
from fleet.models import Car
from instructors.models import Member

#: No paper takes as long as this, so the holder of an older claim has failed; the queue's own limit ends it before.
CLAIM_LIFE = timedelta(minutes=16)


class PaperState(models.TextChoices):
    QUEUED = "queued", "Waiting to be made"
    MAKING = "making", "Being made"
    MADE = "made", "Made"
    FAILED = "failed", "Not made"


UNMADE = (PaperState.QUEUED, PaperState.MAKING)


def place_of_paper(paper: "Paper", filename: str) -> str:
    """The path of a paper's file: a name of the book's own."""
    return f"papers/{paper.pk}{PAPER_KINDS[paper.kind].suffix}"


class Paper(models.Model):
    """One paper that a member asked for: of which days and which car, or of all their cars.

    ``asked`` is what else it is narrowed to, as the address of its page says it. One ``of_coordinator`` was asked for
    with the rights of a coordinator: it tells of others' cars, and whoever has these rights no more cannot open it.

    While it is made, page ``page`` of about ``pages`` is laid out; 0 before the first.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    member = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    kind = models.CharField(max_length=10, choices=[(row.name, row.words) for row in PAPER_KINDS.values()])
    first = models.DateField()
    last = models.DateField()
    car = models.ForeignKey(Car, on_delete=models.PROTECT, null=True, related_name="+")
    # A process of the release before knows nothing of these two.
    asked = models.CharField(max_length=budgets.PAPER_ASKED, blank=True, default="", db_default="")
    of_coordinator = models.BooleanField(default=False, db_default=False)
    state = models.CharField(max_length=10, choices=PaperState, default=PaperState.QUEUED)
    page = models.PositiveIntegerField(default=0)
    pages = models.PositiveIntegerField(default=0)
    file = models.FileField(upload_to=place_of_paper, editable=False)
    asked_at = models.DateTimeField(default=timezone.now)
    made_at = models.DateTimeField(null=True)
    attempt_count = models.PositiveSmallIntegerField(default=0)
    claimed_at = models.DateTimeField(null=True)
    claimed_by = models.CharField(max_length=120, blank=True)
    error = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["-asked_at"]
        constraints = [
            models.CheckConstraint(condition=Q(first__lte=F("last")), name="paper_days_in_order"),
            models.CheckConstraint(
                condition=~Q(state=PaperState.MADE) | (~Q(file="") & Q(made_at__isnull=False)),
                name="paper_made_has_its_file",
            ),
        ]
        indexes = [
            models.Index(fields=["member", "-asked_at"], name="paper_of_member"),
            models.Index(fields=["asked_at"], condition=Q(state__in=UNMADE), name="paper_to_make"),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.first} to {self.last}"

    @property
    def is_made(self) -> bool:
        return self.state == PaperState.MADE

    @property
    def is_waiting(self) -> bool:
        """Whether it is still to be made, or being made."""
        return self.state in UNMADE

    def is_free(self, now: datetime) -> bool:
        """Whether a process may claim it: nobody has it, or whoever had it has ended."""
        if self.state != PaperState.MAKING:
            return self.state == PaperState.QUEUED
        is_old = self.claimed_at is None or self.claimed_at <= now - CLAIM_LIFE
        return is_old or claims.has_ended(self.claimed_by)
