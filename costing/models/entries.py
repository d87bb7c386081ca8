"""What members log: costs, fills and lessons."""

from typing import Self

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils import timezone
from simple_history.models import HistoricalRecords

from costing.core.catalogue.costs import ENTRY_CHOICES
from costing.models.batches import Batch, Repeat, category_field
from fleet.models import Car
from instructors.models import Member


class EntryQuerySet(models.QuerySet):
    def standing(self) -> Self:
        """The entries that count: all but the voided ones."""
        return self.filter(voided_at__isnull=True)


class Entry(models.Model):
    """What all entries have in common. A voided entry stays for its history but does not count.

    ``found_right`` names what the member said is right although the book asked, one word each. ``batch`` is what the
    entry was saved with, and ``replaced_by`` what was saved in its place.
    """

    ref = models.CharField(max_length=64, unique=True, editable=False)
    car = models.ForeignKey(Car, on_delete=models.PROTECT)
    member = models.ForeignKey(Member, on_delete=models.PROTECT)
    created_at = models.DateTimeField(default=timezone.now, editable=False)
    voided_at = models.DateTimeField(null=True, blank=True, editable=False)
    found_right = models.CharField(max_length=200, blank=True, editable=False)
    batch = models.ForeignKey(Batch, on_delete=models.PROTECT, null=True, editable=False, related_name="%(class)s_set")
    replaced_by = models.ForeignKey(
        Batch, on_delete=models.PROTECT, null=True, editable=False, related_name="%(class)s_replaced"
    )

    objects = EntryQuerySet.as_manager()

    class Meta:
        abstract = True


_CATEGORIES = [name for name, _ in ENTRY_CHOICES]


class CostEntry(Entry):
    """One sum paid (or refunded, negative) for one car in one category, with the cover that it bought.

    ``repeat`` made it, or it was logged by hand and stands for a payment of that: then it ``settles`` one.
    """

    paid_on = models.DateField()
    category = category_field()
    amount = models.DecimalField(max_digits=9, decimal_places=2)
    covers_from = models.DateField(null=True, blank=True)
    covers_to = models.DateField(null=True, blank=True)
    covers_miles = models.PositiveIntegerField(null=True, blank=True)
    ended_on = models.DateField(null=True, blank=True)
    supplier = models.CharField(max_length=120, blank=True)
    note = models.CharField(max_length=500, blank=True)
    repeat = models.ForeignKey(Repeat, on_delete=models.PROTECT, null=True, editable=False, related_name="made")

    history = HistoricalRecords()

    class Meta:
        ordering = ["-paid_on", "-id"]
        verbose_name_plural = "cost entries"
        constraints = [
            models.CheckConstraint(condition=Q(category__in=_CATEGORIES), name="cost_category_known"),
            models.CheckConstraint(
                condition=Q(covers_from__isnull=True, covers_to__isnull=True)
                | Q(covers_from__isnull=False, covers_to__isnull=False),
                name="cost_cover_has_both_days",
            ),
            models.CheckConstraint(
                condition=Q(covers_to__isnull=True) | Q(covers_to__gte=F("covers_from")),
                name="cost_cover_ends_after_it_starts",
            ),
            models.CheckConstraint(
                condition=Q(covers_from__isnull=True) | Q(covers_miles__isnull=True),
                name="cost_cover_by_days_or_by_miles",
            ),
            models.CheckConstraint(
                condition=Q(covers_miles__isnull=True) | Q(covers_miles__gte=1),
                name="cost_cover_of_some_miles",
            ),
            models.CheckConstraint(
                condition=Q(ended_on__isnull=True) | Q(covers_from__isnull=False) | Q(covers_miles__isnull=False),
                name="cost_ends_only_with_cover",
            ),
        ]
        indexes = [
            models.Index(fields=["car", "paid_on"], name="cost_of_car_by_day"),
            models.Index(fields=["member", "-paid_on"], name="cost_of_member_newest"),
        ]

    def __str__(self) -> str:
        return f"{self.get_category_display()} {self.paid_on}"


class FillUnit(models.TextChoices):
    LITRE = "litre", "litres"
    KWH = "kwh", "kWh"


class Fill(Entry):
    """Fuel or charge bought, with the odometer; ``brimmed`` if filled as full as it goes."""

    filled_on = models.DateField()
    odometer = models.PositiveIntegerField()
    quantity = models.DecimalField(max_digits=7, decimal_places=3, help_text="Litres or kWh.")
    unit = models.CharField(max_length=5, choices=FillUnit)
    amount = models.DecimalField(max_digits=7, decimal_places=2, validators=[MinValueValidator(0)])
    brimmed = models.BooleanField(default=True)
    gap_before = models.BooleanField(default=False)

    history = HistoricalRecords()

    class Meta:
        ordering = ["-filled_on", "-odometer", "-id"]
        constraints = [
            models.CheckConstraint(condition=Q(unit__in=FillUnit.values), name="fill_unit_known"),
            models.CheckConstraint(condition=Q(quantity__gt=0), name="fill_of_some_quantity"),
            models.CheckConstraint(condition=Q(amount__gte=0), name="fill_amount_not_negative"),
        ]
        indexes = [
            models.Index(fields=["car", "filled_on"], name="fill_of_car_by_day"),
            models.Index(fields=["car", "unit", "filled_on"], name="fill_of_car_by_unit"),
            models.Index(fields=["member", "-filled_on"], name="fill_of_member_newest"),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} {self.unit} {self.filled_on}"


class TeachingRecord(Entry):
    """Lessons and lesson minutes taught in one car over a span of days, and private miles.

    A figure that is null was not told: that is not the same as none.
    """

    from_on = models.DateField()
    to_on = models.DateField()
    lesson_count = models.PositiveSmallIntegerField(null=True, blank=True)
    minutes = models.PositiveIntegerField(null=True, blank=True)
    private_miles = models.PositiveIntegerField(null=True, blank=True)

    history = HistoricalRecords()

    class Meta:
        ordering = ["-to_on", "-id"]
        constraints = [
            models.CheckConstraint(condition=Q(to_on__gte=F("from_on")), name="teaching_ends_after_it_starts"),
        ]
        indexes = [
            models.Index(fields=["car", "from_on"], name="teaching_of_car_by_day"),
            models.Index(fields=["member", "-to_on"], name="teaching_of_member_newest"),
        ]

    def __str__(self) -> str:
        return f"lessons, {self.from_on} to {self.to_on}"
