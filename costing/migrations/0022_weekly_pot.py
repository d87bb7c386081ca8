"""The weekly pot: what is in it, what is planned, and the bills and quotes that members type."""

import django.core.validators
import django.db.models.deletion
import django.utils.timezone
import simple_history.models
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("costing", "0021_what_to_charge"),
        ("fleet", "0015_checks_go_group_by_group"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="HistoricalPotBill",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                ("ref", models.CharField(db_index=True, editable=False, max_length=64)),
                ("kind", models.CharField(max_length=16)),
                ("words", models.CharField(blank=True, max_length=80)),
                (
                    "amount",
                    models.DecimalField(
                        decimal_places=2, max_digits=9, validators=[django.core.validators.MinValueValidator(0)]
                    ),
                ),
                ("due_on", models.DateField(blank=True, null=True)),
                ("is_yearly", models.BooleanField(default=False)),
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
                "verbose_name": "historical pot bill",
                "verbose_name_plural": "historical pot bills",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalPotPlan",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                (
                    "balance",
                    models.DecimalField(
                        decimal_places=2, max_digits=9, validators=[django.core.validators.MinValueValidator(0)]
                    ),
                ),
                ("balance_on", models.DateField()),
                (
                    "weekly",
                    models.DecimalField(
                        blank=True,
                        decimal_places=2,
                        max_digits=9,
                        null=True,
                        validators=[django.core.validators.MinValueValidator(0)],
                    ),
                ),
                ("holidays", models.JSONField(blank=True, default=list)),
                (
                    "ill_weeks",
                    models.PositiveSmallIntegerField(
                        blank=True, null=True, validators=[django.core.validators.MaxValueValidator(26)]
                    ),
                ),
                ("hire_pauses", models.BooleanField(default=False)),
                ("keeps_car", models.BooleanField(blank=True, null=True)),
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
                "verbose_name": "historical pot plan",
                "verbose_name_plural": "historical pot plans",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="PotBill",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("ref", models.CharField(editable=False, max_length=64, unique=True)),
                ("kind", models.CharField(max_length=16)),
                ("words", models.CharField(blank=True, max_length=80)),
                (
                    "amount",
                    models.DecimalField(
                        decimal_places=2, max_digits=9, validators=[django.core.validators.MinValueValidator(0)]
                    ),
                ),
                ("due_on", models.DateField(blank=True, null=True)),
                ("is_yearly", models.BooleanField(default=False)),
                ("created_at", models.DateTimeField(default=django.utils.timezone.now, editable=False)),
                ("voided_at", models.DateTimeField(blank=True, editable=False, null=True)),
                (
                    "car",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="fleet.car",
                    ),
                ),
                (
                    "member",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
            ],
            options={
                "ordering": [models.OrderBy(models.F("due_on"), nulls_last=True), "pk"],
                "indexes": [models.Index(fields=["member"], name="pot_bill_of_member")],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("kind", ""), _negated=True), name="pot_bill_of_some_kind"
                    ),
                    models.CheckConstraint(condition=models.Q(("amount__gte", 0)), name="pot_bill_not_below_nought"),
                ],
            },
        ),
        migrations.CreateModel(
            name="PotPlan",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "balance",
                    models.DecimalField(
                        decimal_places=2, max_digits=9, validators=[django.core.validators.MinValueValidator(0)]
                    ),
                ),
                ("balance_on", models.DateField()),
                (
                    "weekly",
                    models.DecimalField(
                        blank=True,
                        decimal_places=2,
                        max_digits=9,
                        null=True,
                        validators=[django.core.validators.MinValueValidator(0)],
                    ),
                ),
                ("holidays", models.JSONField(blank=True, default=list)),
                (
                    "ill_weeks",
                    models.PositiveSmallIntegerField(
                        blank=True, null=True, validators=[django.core.validators.MaxValueValidator(26)]
                    ),
                ),
                ("hire_pauses", models.BooleanField(default=False)),
                ("keeps_car", models.BooleanField(blank=True, null=True)),
                (
                    "member",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(condition=models.Q(("balance__gte", 0)), name="pot_not_below_nought"),
                    models.CheckConstraint(
                        condition=models.Q(("weekly__isnull", True), ("weekly__gte", 0), _connector="OR"),
                        name="pot_weekly_not_below_nought",
                    ),
                ],
            },
        ),
    ]
