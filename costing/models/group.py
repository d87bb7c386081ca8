"""The group's frozen figures."""

from django.db import models
from django.db.models import Q
from django.utils import timezone


class Span(models.TextChoices):
    MONTH = "month", "One month"
    YEAR = "year", "The 12 months ending with it"


class GroupFigure(models.Model):
    """The group's figures of one closed month, frozen; money in whole pence.

    ``revision`` 0 is what the closing found. A correction made since shows as a further revision, made at
    the closing of a later month. Below the minimum of contributors no figure is stored at all.
    """

    month = models.DateField(help_text="First day of the month.")
    span = models.CharField(max_length=5, choices=Span)
    revision = models.PositiveSmallIntegerField(default=0)
    closed_at = models.DateTimeField(default=timezone.now)
    contributor_count = models.PositiveSmallIntegerField()
    median_cost_per_lesson_pence = models.IntegerField(null=True)
    median_cost_per_lesson_hour_pence = models.IntegerField(null=True)
    median_cost_per_mile_pence = models.IntegerField(null=True)
    lower_quartile_cost_per_lesson_hour_pence = models.IntegerField(null=True)
    upper_quartile_cost_per_lesson_hour_pence = models.IntegerField(null=True)

    class Meta:
        ordering = ["month", "span", "revision"]
        constraints = [
            models.UniqueConstraint(fields=["month", "span", "revision"], name="group_figure_once"),
            models.CheckConstraint(condition=Q(span__in=Span.values), name="group_figure_span_known"),
        ]

    def __str__(self) -> str:
        return f"{self.month:%Y-%m} {self.span}"


class GroupRunningFigure(models.Model):
    """What running a car costs in the group, by one key of an offers document's running costs; frozen.

    Over the 12 months ending with ``month``, at that month's closing: the median of one value a contributor, in the
    key's own unit (pounds a year, pence a mile). Of too few contributors nothing is stored.
    """

    month = models.DateField(help_text="First day of the month.")
    key = models.CharField(max_length=24)
    closed_at = models.DateTimeField(default=timezone.now)
    contributor_count = models.PositiveSmallIntegerField()
    median = models.DecimalField(max_digits=11, decimal_places=2)

    class Meta:
        ordering = ["month", "key"]
        constraints = [models.UniqueConstraint(fields=["month", "key"], name="group_running_figure_once")]

    def __str__(self) -> str:
        return f"{self.month:%Y-%m} {self.key}"
