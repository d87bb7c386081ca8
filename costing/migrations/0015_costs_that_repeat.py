"""Costs that come again are entered once."""

import django.core.validators
import django.db.models.deletion
import django.utils.timezone
import simple_history.models
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("costing", "0014_saved_together_and_found_right"),
    ]

    operations = [
        migrations.CreateModel(
            name="HistoricalRepeat",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                ("ref", models.CharField(db_index=True, editable=False, max_length=64)),
                (
                    "category",
                    models.CharField(
                        choices=[
                            ("insurance", "Insurance"),
                            ("vehicle_tax", "Vehicle tax"),
                            ("mot", "MOT"),
                            ("servicing", "Servicing"),
                            ("repairs", "Repairs"),
                            ("tyres", "Tyres"),
                            ("fit_out", "Fit-out: dual controls, plates, mirror"),
                            ("breakdown_cover", "Breakdown cover"),
                            ("finance", "Finance instalment"),
                            ("rental", "Rental payment"),
                            ("cleaning", "Cleaning"),
                            ("parking_tolls", "Parking and tolls"),
                            ("other", "Other"),
                        ],
                        max_length=15,
                    ),
                ),
                (
                    "amount",
                    models.DecimalField(
                        decimal_places=2, max_digits=9, validators=[django.core.validators.MinValueValidator(0)]
                    ),
                ),
                (
                    "interval",
                    models.CharField(
                        choices=[
                            ("week", "Every week"),
                            ("month", "Every month"),
                            ("quarter", "Every three months"),
                            ("year", "Every year"),
                        ],
                        max_length=7,
                    ),
                ),
                ("starts_on", models.DateField()),
                ("payments", models.PositiveSmallIntegerField(blank=True, null=True)),
                ("covers_its_days", models.BooleanField(default=False)),
                ("supplier", models.CharField(blank=True, max_length=120)),
                ("note", models.CharField(blank=True, max_length=500)),
                ("stopped_on", models.DateField(blank=True, null=True)),
                ("made_until", models.DateField(blank=True, editable=False, null=True)),
                ("created_at", models.DateTimeField(default=django.utils.timezone.now, editable=False)),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1),
                ),
                (
                    "agreement",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="costing.agreement",
                    ),
                ),
                (
                    "car",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="fleet.car",
                    ),
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
                "verbose_name": "historical repeat",
                "verbose_name_plural": "historical repeats",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="Repeat",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("ref", models.CharField(editable=False, max_length=64, unique=True)),
                (
                    "category",
                    models.CharField(
                        choices=[
                            ("insurance", "Insurance"),
                            ("vehicle_tax", "Vehicle tax"),
                            ("mot", "MOT"),
                            ("servicing", "Servicing"),
                            ("repairs", "Repairs"),
                            ("tyres", "Tyres"),
                            ("fit_out", "Fit-out: dual controls, plates, mirror"),
                            ("breakdown_cover", "Breakdown cover"),
                            ("finance", "Finance instalment"),
                            ("rental", "Rental payment"),
                            ("cleaning", "Cleaning"),
                            ("parking_tolls", "Parking and tolls"),
                            ("other", "Other"),
                        ],
                        max_length=15,
                    ),
                ),
                (
                    "amount",
                    models.DecimalField(
                        decimal_places=2, max_digits=9, validators=[django.core.validators.MinValueValidator(0)]
                    ),
                ),
                (
                    "interval",
                    models.CharField(
                        choices=[
                            ("week", "Every week"),
                            ("month", "Every month"),
                            ("quarter", "Every three months"),
                            ("year", "Every year"),
                        ],
                        max_length=7,
                    ),
                ),
                ("starts_on", models.DateField()),
                ("payments", models.PositiveSmallIntegerField(blank=True, null=True)),
                ("covers_its_days", models.BooleanField(default=False)),
                ("supplier", models.CharField(blank=True, max_length=120)),
                ("note", models.CharField(blank=True, max_length=500)),
                ("stopped_on", models.DateField(blank=True, null=True)),
                ("made_until", models.DateField(blank=True, editable=False, null=True)),
                ("created_at", models.DateTimeField(default=django.utils.timezone.now, editable=False)),
                (
                    "agreement",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="repeats",
                        to="costing.agreement",
                    ),
                ),
                (
                    "car",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="fleet.car"),
                ),
                (
                    "member",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
            ],
            options={
                "ordering": ["car", "category", "starts_on", "pk"],
            },
        ),
        migrations.AddField(
            model_name="costentry",
            name="repeat",
            field=models.ForeignKey(
                editable=False,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="made",
                to="costing.repeat",
            ),
        ),
        migrations.AddField(
            model_name="historicalcostentry",
            name="repeat",
            field=models.ForeignKey(
                blank=True,
                db_constraint=False,
                editable=False,
                null=True,
                on_delete=django.db.models.deletion.DO_NOTHING,
                related_name="+",
                to="costing.repeat",
            ),
        ),
        migrations.AddConstraint(
            model_name="repeat",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    (
                        "category__in",
                        [
                            "insurance",
                            "vehicle_tax",
                            "mot",
                            "servicing",
                            "repairs",
                            "tyres",
                            "fit_out",
                            "breakdown_cover",
                            "finance",
                            "rental",
                            "cleaning",
                            "parking_tolls",
                            "other",
                        ],
                    )
                ),
                name="repeat_category_known",
            ),
        ),
        migrations.AddConstraint(
            model_name="repeat",
            constraint=models.CheckConstraint(
                condition=models.Q(("interval__in", ["week", "month", "quarter", "year"])), name="repeat_interval_known"
            ),
        ),
        migrations.AddConstraint(
            model_name="repeat",
            constraint=models.CheckConstraint(condition=models.Q(("amount__gt", 0)), name="repeat_of_some_amount"),
        ),
        migrations.AddConstraint(
            model_name="repeat",
            constraint=models.CheckConstraint(
                condition=models.Q(("payments__isnull", True), ("payments__gte", 1), _connector="OR"),
                name="repeat_of_some_payments",
            ),
        ),
        migrations.AddConstraint(
            model_name="repeat",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("made_until__isnull", True), ("made_until__gte", models.F("starts_on")), _connector="OR"
                ),
                name="repeat_made_from_its_start",
            ),
        ),
    ]
