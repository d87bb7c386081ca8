"""The group's figures are kept rounded: the exact ones closed so far go with their tables."""

import django.core.validators
import django.utils.timezone
from django.db import migrations, models

FIGURES = (
    "median_cost_per_lesson_hour",
    "median_cost_per_mile",
    "lower_quartile_cost_per_lesson_hour",
    "upper_quartile_cost_per_lesson_hour",
)
RUNNING_FIGURES = (
    "fuel_pence_per_mile_petrol",
    "fuel_pence_per_mile_diesel",
    "fuel_pence_per_mile_hybrid",
    "fuel_pence_per_mile_plugin_hybrid",
    "fuel_pence_per_mile_electric",
    "insurance",
    "vehicle_tax_per_year",
    "breakdown_per_year",
    "mot",
    "servicing_per_year",
    "repairs_per_year",
)


class Migration(migrations.Migration):
    dependencies = [("costing", "0005_brim_to_brim")]

    operations = [
        migrations.DeleteModel("GroupRunningFigure"),
        migrations.DeleteModel("GroupFigure"),
        migrations.CreateModel(
            name="GroupFigure",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("month", models.DateField(help_text="First day of the month.")),
                (
                    "span",
                    models.CharField(
                        choices=[("month", "One month"), ("year", "The 12 months ending with it")], max_length=5
                    ),
                ),
                ("closed_at", models.DateTimeField(default=django.utils.timezone.now)),
                ("contributor_count", models.PositiveSmallIntegerField()),
                ("out_count", models.PositiveSmallIntegerField()),
                (
                    "minimum",
                    models.PositiveSmallIntegerField(validators=[django.core.validators.MinValueValidator(5)]),
                ),
                (
                    "rounded_to",
                    models.PositiveSmallIntegerField(help_text="Pence of a lesson hour; a mile has a tenth of it."),
                ),
                *(
                    (name, models.DecimalField(decimal_places=2, max_digits=9, null=True))
                    for name in (*FIGURES, *RUNNING_FIGURES)
                ),
            ],
            options={
                "ordering": ["month", "span"],
                "constraints": [
                    models.UniqueConstraint(fields=("month", "span"), name="group_figure_closed_once"),
                    models.CheckConstraint(
                        condition=models.Q(("span__in", ["month", "year"])), name="group_figure_span_known"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("rounded_to__in", (10, 20, 50))), name="group_figure_rounding_known"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("minimum__gte", 5)), name="group_figure_minimum_high_enough"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("contributor_count__gte", models.F("minimum")),
                            models.Q(
                                ("median_cost_per_lesson_hour__isnull", True), ("median_cost_per_mile__isnull", True)
                            ),
                            _connector="OR",
                        ),
                        name="group_figure_of_enough_contributors",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("span", "year"),
                            models.Q(**{f"{name}__isnull": True for name in RUNNING_FIGURES}),
                            _connector="OR",
                        ),
                        name="group_figure_running_costs_of_a_year",
                    ),
                ],
            },
        ),
    ]
