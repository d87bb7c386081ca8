"""A payment of what repeats may be settled by a cost that was logged by hand."""

import django.core.validators
import django.db.models.deletion
import simple_history.models
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("costing", "0028_cars_as_a_paper"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="HistoricalSettledDue",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                ("due_on", models.DateField()),
                (
                    "amount",
                    models.DecimalField(
                        decimal_places=2, max_digits=9, validators=[django.core.validators.MinValueValidator(0)]
                    ),
                ),
                ("ended_at", models.DateTimeField(blank=True, editable=False, null=True)),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1),
                ),
                (
                    "cost",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="costing.costentry",
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
                (
                    "repeat",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="costing.repeat",
                    ),
                ),
            ],
            options={
                "verbose_name": "historical settled due",
                "verbose_name_plural": "historical settled dues",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="SettledDue",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("due_on", models.DateField()),
                (
                    "amount",
                    models.DecimalField(
                        decimal_places=2, max_digits=9, validators=[django.core.validators.MinValueValidator(0)]
                    ),
                ),
                ("ended_at", models.DateTimeField(blank=True, editable=False, null=True)),
                (
                    "cost",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT, related_name="settles", to="costing.costentry"
                    ),
                ),
                (
                    "member",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "repeat",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="settled", to="costing.repeat"
                    ),
                ),
            ],
            options={
                "ordering": ["repeat", "-due_on"],
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("ended_at__isnull", True)),
                        fields=("repeat", "due_on"),
                        name="due_day_settled_once",
                    ),
                    models.CheckConstraint(condition=models.Q(("amount__gt", 0)), name="settled_due_of_some_amount"),
                ],
            },
        ),
    ]
