"""What is taken for lessons by the week, and what a member plans to charge. Theirs alone, as costs are."""

from decimal import Decimal
from typing import Self

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils import timezone
from simple_history.models import HistoricalRecords

from config.showing import day
from instructors.models import Member


class TakingsQuerySet(models.QuerySet):
    def standing(self) -> Self:
        """The weeks that count: all but the voided ones."""
        return self.filter(voided_at__isnull=True)


class Takings(models.Model):
    """What one member took for lessons in one week, Monday to Sunday, in pounds.

    What was cancelled may be told beside it; null is not told, which is not the same as none. A voided week stays for
    its history but does not count.
    """

    ref = models.CharField(max_length=64, unique=True, editable=False)
    member = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    from_on = models.DateField()
    to_on = models.DateField()
    amount = models.DecimalField(max_digits=9, decimal_places=2, validators=[MinValueValidator(0)])
    cancelled_count = models.PositiveSmallIntegerField(null=True, blank=True)
    cancelled_minutes = models.PositiveIntegerField(null=True, blank=True)
    created_at = models.DateTimeField(default=timezone.now, editable=False)
    voided_at = models.DateTimeField(null=True, blank=True, editable=False)

    objects = TakingsQuerySet.as_manager()
    history = HistoricalRecords()

    class Meta:
        ordering = ["-from_on", "-id"]
        verbose_name_plural = "takings"
        constraints = [
            models.CheckConstraint(condition=Q(to_on__gt=F("from_on")), name="takings_end_after_they_start"),
            models.CheckConstraint(condition=Q(amount__gte=0), name="takings_not_negative"),
            models.UniqueConstraint(
                fields=["member", "from_on"], condition=Q(voided_at__isnull=True), name="takings_once_a_week"
            ),
        ]

    def __str__(self) -> str:
        return f"takings, {day(self.from_on)} to {day(self.to_on)}"


def _pounds() -> models.DecimalField:
    return models.DecimalField(max_digits=7, decimal_places=2, null=True, blank=True, validators=[MinValueValidator(0)])


class ChargePlan(models.Model):
    """What a member charges, teaches and wants; empty is not told. One row a member.

    ``wanted`` and ``other_costs`` are pounds a week of the year, before tax. ``miles_between`` are the more miles
    between two lessons that are asked about. The last three are what the car costs as typed by hand, pounds a week,
    pence a mile and miles a lesson hour, each in place of what the book knows.
    """

    member = models.OneToOneField(Member, on_delete=models.PROTECT, related_name="+")
    lesson_hour_price = _pounds()
    hours_a_week = models.DecimalField(max_digits=5, decimal_places=2, null=True, blank=True)
    weeks_a_year = models.DecimalField(max_digits=4, decimal_places=2, null=True, blank=True)
    wanted = _pounds()
    other_costs = _pounds()
    miles_between = models.PositiveSmallIntegerField(null=True, blank=True)
    car_a_week = _pounds()
    car_pence_a_mile = models.DecimalField(max_digits=5, decimal_places=2, null=True, blank=True)
    miles_an_hour = models.DecimalField(max_digits=5, decimal_places=2, null=True, blank=True)

    history = HistoricalRecords()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(**{f"{field}__isnull": True}) | Q(**{f"{field}__gte": Decimal(0)}),
                name=f"charge_plan_{field}_not_negative",
            )
            for field in (
                *("lesson_hour_price", "hours_a_week", "weeks_a_year", "wanted", "other_costs"),
                *("car_a_week", "car_pence_a_mile", "miles_an_hour"),
            )
        ]

    def __str__(self) -> str:
        return f"what {self.member} charges"
