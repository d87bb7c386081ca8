"""Due items of a car or a member, and how each was met."""

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils import timezone
from simple_history.models import HistoricalRecords

from fleet.core.due_kinds import DUE_KINDS, DueKind
from fleet.models.cars import Car
from fleet.models.photos import Photo
from instructors.models import Member


class DueItem(models.Model):
    """Something that falls due on a day, at a mileage, or whichever is first, for one car or one member.

    One row a subject and kind: meeting it moves the row on to the next day or mileage and leaves a
    ``Completion`` behind. ``closed_on`` is set when it was met and does not come back.
    """

    car = models.ForeignKey(Car, on_delete=models.PROTECT, null=True, blank=True, related_name="due_items")
    member = models.ForeignKey(Member, on_delete=models.PROTECT, null=True, blank=True, related_name="due_items")
    kind = models.CharField(max_length=16, choices=[(kind.name, kind.words) for kind in DUE_KINDS.values()])
    due_on = models.DateField(null=True, blank=True)
    due_miles = models.PositiveIntegerField(null=True, blank=True)
    every_months = models.PositiveSmallIntegerField(null=True, blank=True, validators=[MinValueValidator(1)])
    every_miles = models.PositiveIntegerField(null=True, blank=True, validators=[MinValueValidator(1)])
    booked_for = models.DateField(null=True, blank=True)
    note = models.CharField(max_length=500, blank=True)
    closed_on = models.DateField(null=True, blank=True, editable=False)

    history = HistoricalRecords()

    class Meta:
        ordering = ["due_on", "kind"]
        constraints = [
            models.CheckConstraint(
                condition=Q(car__isnull=False, member__isnull=True) | Q(car__isnull=True, member__isnull=False),
                name="due_item_of_a_car_or_a_member",
            ),
            models.CheckConstraint(condition=Q(kind__in=list(DUE_KINDS)), name="due_item_kind_known"),
            models.CheckConstraint(
                condition=Q(every_months__isnull=True) | Q(every_months__gte=1),
                name="due_item_every_some_months",
            ),
            models.CheckConstraint(
                condition=Q(every_miles__isnull=True) | Q(every_miles__gte=1),
                name="due_item_every_some_miles",
            ),
            models.UniqueConstraint(
                fields=["car", "kind"], condition=Q(closed_on__isnull=True), name="due_item_open_once_per_car"
            ),
            models.UniqueConstraint(
                fields=["member", "kind"],
                condition=Q(closed_on__isnull=True),
                name="due_item_open_once_per_member",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} of {self.car or self.member}"

    @property
    def due_kind(self) -> DueKind:
        """Its row in the catalogue of due kinds."""
        return DUE_KINDS[self.kind]

    @property
    def title(self) -> str:
        """Its name: the kind in words, or the member's own words."""
        return self.due_kind.title(self.note)


class Completion(models.Model):
    """How a due item was met: what was due, when it was done, and by whom that was recorded.

    ``next_due_on`` and ``next_due_miles`` are what it moved the item on to; neither if it did not come back, or for one
    that was recorded before the book kept them. A voided one stays for its history but does not count. ``cost_ref`` is
    the reference of the cost entry its member logged with it: what it cost is not the fleet's.
    """

    due_item = models.ForeignKey(DueItem, on_delete=models.PROTECT, related_name="completions")
    was_due_on = models.DateField(null=True, blank=True)
    was_due_miles = models.PositiveIntegerField(null=True, blank=True)
    next_due_on = models.DateField(null=True, blank=True)
    next_due_miles = models.PositiveIntegerField(null=True, blank=True)
    done_on = models.DateField()
    odometer = models.PositiveIntegerField(null=True, blank=True)
    note = models.CharField(max_length=500, blank=True)
    cost_ref = models.CharField(max_length=64, blank=True)
    photo = models.ForeignKey(Photo, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    recorded_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    recorded_at = models.DateTimeField(default=timezone.now, editable=False)
    voided_at = models.DateTimeField(null=True, blank=True, editable=False)

    history = HistoricalRecords()

    class Meta:
        ordering = ["-done_on", "-id"]
        constraints = [
            # A second completion on one day is a repeat, and would move the item on twice.
            models.UniqueConstraint(
                fields=["due_item", "done_on"], condition=Q(voided_at__isnull=True), name="completion_once_a_day"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.due_item} done {self.done_on}"
