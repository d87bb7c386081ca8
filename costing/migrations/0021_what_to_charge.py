"""What a member charges, teaches and wants."""

from decimal import Decimal

import django.core.validators
import django.db.models.deletion
import simple_history.models
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("costing", "0020_takings"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="HistoricalChargePlan",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                (
                    "lesson_hour_price",
                    models.DecimalField(
                        blank=True,
                        decimal_places=2,
                        max_digits=7,
                        null=True,
                        validators=[django.core.validators.MinValueValidator(0)],
                    ),
                ),
                ("hours_a_week", models.DecimalField(blank=True, decimal_places=2, max_digits=5, null=True)),
                ("weeks_a_year", models.DecimalField(blank=True, decimal_places=2, max_digits=4, null=True)),
                (
                    "wanted",
                    models.DecimalField(
                        blank=True,
                        decimal_places=2,
                        max_digits=7,
                        null=True,
                        validators=[django.core.validators.MinValueValidator(0)],
                    ),
                ),
                (
                    "other_costs",
                    models.DecimalField(
                        blank=True,
                        decimal_places=2,
                        max_digits=7,
                        null=True,
                        validators=[django.core.validators.MinValueValidator(0)],
                    ),
                ),
                ("miles_between", models.PositiveSmallIntegerField(blank=True, null=True)),
                (
                    "car_a_week",
                    models.DecimalField(
                        blank=True,
                        decimal_places=2,
                        max_digits=7,
                        null=True,
                        validators=[django.core.validators.MinValueValidator(0)],
                    ),
                ),
                ("car_pence_a_mile", models.DecimalField(blank=True, decimal_places=2, max_digits=5, null=True)),
                ("miles_an_hour", models.DecimalField(blank=True, decimal_places=2, max_digits=5, null=True)),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1),
                ),
                (
                    "history_user",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "member",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "verbose_name": "historical charge plan",
                "verbose_name_plural": "historical charge plans",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="ChargePlan",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "lesson_hour_price",
                    models.DecimalField(
                        blank=True,
                        decimal_places=2,
                        max_digits=7,
                        null=True,
                        validators=[django.core.validators.MinValueValidator(0)],
                    ),
                ),
                ("hours_a_week", models.DecimalField(blank=True, decimal_places=2, max_digits=5, null=True)),
                ("weeks_a_year", models.DecimalField(blank=True, decimal_places=2, max_digits=4, null=True)),
                (
                    "wanted",
                    models.DecimalField(
                        blank=True,
                        decimal_places=2,
                        max_digits=7,
                        null=True,
                        validators=[django.core.validators.MinValueValidator(0)],
                    ),
                ),
                (
                    "other_costs",
                    models.DecimalField(
                        blank=True,
                        decimal_places=2,
                        max_digits=7,
                        null=True,
                        validators=[django.core.validators.MinValueValidator(0)],
                    ),
                ),
                ("miles_between", models.PositiveSmallIntegerField(blank=True, null=True)),
                (
                    "car_a_week",
                    models.DecimalField(
                        blank=True,
                        decimal_places=2,
                        max_digits=7,
                        null=True,
                        validators=[django.core.validators.MinValueValidator(0)],
                    ),
                ),
                ("car_pence_a_mile", models.DecimalField(blank=True, decimal_places=2, max_digits=5, null=True)),
                ("miles_an_hour", models.DecimalField(blank=True, decimal_places=2, max_digits=5, null=True)),
                (
                    "member",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("lesson_hour_price__isnull", True),
                            ("lesson_hour_price__gte", Decimal("0")),
                            _connector="OR",
                        ),
                        name="charge_plan_lesson_hour_price_not_negative",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("hours_a_week__isnull", True), ("hours_a_week__gte", Decimal("0")), _connector="OR"
                        ),
                        name="charge_plan_hours_a_week_not_negative",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("weeks_a_year__isnull", True), ("weeks_a_year__gte", Decimal("0")), _connector="OR"
                        ),
                        name="charge_plan_weeks_a_year_not_negative",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("wanted__isnull", True), ("wanted__gte", Decimal("0")), _connector="OR"),
                        name="charge_plan_wanted_not_negative",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("other_costs__isnull", True), ("other_costs__gte", Decimal("0")), _connector="OR"
                        ),
                        name="charge_plan_other_costs_not_negative",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("car_a_week__isnull", True), ("car_a_week__gte", Decimal("0")), _connector="OR"
                        ),
                        name="charge_plan_car_a_week_not_negative",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("car_pence_a_mile__isnull", True), ("car_pence_a_mile__gte", Decimal("0")), _connector="OR"
                        ),
                        name="charge_plan_car_pence_a_mile_not_negative",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("miles_an_hour__isnull", True), ("miles_an_hour__gte", Decimal("0")), _connector="OR"
                        ),
                        name="charge_plan_miles_an_hour_not_negative",
                    ),
                ],
            },
        ),
    ]
