"""What was taken for lessons, by the week."""

import django.core.validators
import django.db.models.deletion
import django.utils.timezone
import simple_history.models
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("costing", "0019_due_days_that_follow_from_costs"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="HistoricalTakings",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                ("ref", models.CharField(db_index=True, editable=False, max_length=64)),
                ("from_on", models.DateField()),
                ("to_on", models.DateField()),
                (
                    "amount",
                    models.DecimalField(
                        decimal_places=2, max_digits=9, validators=[django.core.validators.MinValueValidator(0)]
                    ),
                ),
                ("cancelled_count", models.PositiveSmallIntegerField(blank=True, null=True)),
                ("cancelled_minutes", models.PositiveIntegerField(blank=True, null=True)),
                ("created_at", models.DateTimeField(default=django.utils.timezone.now, editable=False)),
                ("voided_at", models.DateTimeField(blank=True, editable=False, null=True)),
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
                "verbose_name": "historical takings",
                "verbose_name_plural": "historical takings",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="Takings",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("ref", models.CharField(editable=False, max_length=64, unique=True)),
                ("from_on", models.DateField()),
                ("to_on", models.DateField()),
                (
                    "amount",
                    models.DecimalField(
                        decimal_places=2, max_digits=9, validators=[django.core.validators.MinValueValidator(0)]
                    ),
                ),
                ("cancelled_count", models.PositiveSmallIntegerField(blank=True, null=True)),
                ("cancelled_minutes", models.PositiveIntegerField(blank=True, null=True)),
                ("created_at", models.DateTimeField(default=django.utils.timezone.now, editable=False)),
                ("voided_at", models.DateTimeField(blank=True, editable=False, null=True)),
                (
                    "member",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
            ],
            options={
                "verbose_name_plural": "takings",
                "ordering": ["-from_on", "-id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("to_on__gt", models.F("from_on"))), name="takings_end_after_they_start"
                    ),
                    models.CheckConstraint(condition=models.Q(("amount__gte", 0)), name="takings_not_negative"),
                    models.UniqueConstraint(
                        condition=models.Q(("voided_at__isnull", True)),
                        fields=("member", "from_on"),
                        name="takings_once_a_week",
                    ),
                ],
            },
        ),
    ]
