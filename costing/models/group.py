"""The group's figures of closed months."""

from typing import Any

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from costing.core.group import LOWEST_MINIMUM, RUNNING_STEPS
from instructors.models import ROUNDINGS, Member


class Span(models.TextChoices):
    MONTH = "month", "One month"
    YEAR = "year", "The 12 months ending with it"


def _figure() -> Any:
    return models.DecimalField(max_digits=9, decimal_places=2, null=True)


class GroupFigure(models.Model):
    """The figures of one closed month, or of the 12 months that end with it; they never change.

    They are rounded pounds, or pence a mile for fuel; no exact figure is stored anywhere. Below ``minimum``
    contributors there are none. ``out_count`` counts members with standing and 28 days in service who did not
    contribute. A year also has the medians of running costs that offers for a next car start from.
    """

    month = models.DateField(help_text="First day of the month.")
    span = models.CharField(max_length=5, choices=Span)
    closed_at = models.DateTimeField(default=timezone.now)
    contributor_count = models.PositiveSmallIntegerField()
    out_count = models.PositiveSmallIntegerField()
    minimum = models.PositiveSmallIntegerField(validators=[MinValueValidator(LOWEST_MINIMUM)])
    rounded_to = models.PositiveSmallIntegerField(help_text="Pence of a lesson hour; a mile has a tenth of it.")
    median_cost_per_lesson_hour = _figure()
    median_cost_per_mile = _figure()
    lower_quartile_cost_per_lesson_hour = _figure()
    upper_quartile_cost_per_lesson_hour = _figure()
    fuel_pence_per_mile_petrol = _figure()
    fuel_pence_per_mile_diesel = _figure()
    fuel_pence_per_mile_hybrid = _figure()
    fuel_pence_per_mile_plugin_hybrid = _figure()
    fuel_pence_per_mile_electric = _figure()
    insurance = _figure()
    vehicle_tax_per_year = _figure()
    breakdown_per_year = _figure()
    mot = _figure()
    servicing_per_year = _figure()
    repairs_per_year = _figure()

    class Meta:
        ordering = ["month", "span"]
        constraints = [
            models.UniqueConstraint(fields=["month", "span"], name="group_figure_closed_once"),
            models.CheckConstraint(condition=Q(span__in=Span.values), name="group_figure_span_known"),
            models.CheckConstraint(condition=Q(rounded_to__in=ROUNDINGS), name="group_figure_rounding_known"),
            models.CheckConstraint(condition=Q(minimum__gte=LOWEST_MINIMUM), name="group_figure_minimum_high_enough"),
            models.CheckConstraint(
                condition=Q(contributor_count__gte=F("minimum"))
                | Q(median_cost_per_lesson_hour__isnull=True, median_cost_per_mile__isnull=True),
                name="group_figure_of_enough_contributors",
            ),
            models.CheckConstraint(
                condition=Q(span=Span.YEAR) | Q(**{f"{name}__isnull": True for name in RUNNING_STEPS}),
                name="group_figure_running_costs_of_a_year",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.month:%Y-%m} {self.span}"


class ToldOfContributor(models.Model):
    """Between which whole pence a period's closed figures put a contributor's cost, for those who know all the others.

    No cost is stored, only what the rounded figures themselves tell; nothing shows it. Later closings are held against
    it for as long as their years share a month with this one (`costing.core.group.close_year`), then it is deleted.
    """

    figure = models.ForeignKey(GroupFigure, on_delete=models.CASCADE, related_name="+")
    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="+")
    least = models.BigIntegerField(null=True)
    most = models.BigIntegerField(null=True)

    class Meta:
        ordering = ["figure", "member"]
        constraints = [models.UniqueConstraint(fields=["figure", "member"], name="told_of_contributor_once")]

    def __str__(self) -> str:
        return f"{self.figure}: {self.member_id}"
