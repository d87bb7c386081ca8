"""What is saved together is undone together, and what a member found right is not asked again."""

import uuid
from importlib import import_module

import django.db.models.deletion
import django.utils.timezone
from django.conf import settings
from django.db import migrations, models

ODOMETER = import_module("costing.migrations.0002_odometer_never_falls")


class Migration(migrations.Migration):
    dependencies = [
        ("costing", "0013_the_next_keeper_accepts_an_offer_too"),
    ]

    operations = [
        # SQLite rebuilds the table of fills, which its triggers would be in the way of, and drops them with it.
        migrations.RunPython(ODOMETER.remove, ODOMETER.install, elidable=False),
        migrations.CreateModel(
            name="Batch",
            fields=[
                ("id", models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                (
                    "kind",
                    models.CharField(choices=[("week", "A week of lessons"), ("import", "An import")], max_length=6),
                ),
                ("created_at", models.DateTimeField(default=django.utils.timezone.now, editable=False)),
                ("undone_at", models.DateTimeField(blank=True, editable=False, null=True)),
                (
                    "member",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
            ],
            options={
                "verbose_name_plural": "batches",
                "ordering": ["-created_at"],
            },
        ),
        migrations.AddField(
            model_name="costentry",
            name="found_right",
            field=models.CharField(blank=True, editable=False, max_length=200),
        ),
        migrations.AddField(
            model_name="fill",
            name="found_right",
            field=models.CharField(blank=True, editable=False, max_length=200),
        ),
        migrations.AddField(
            model_name="historicalcostentry",
            name="found_right",
            field=models.CharField(blank=True, editable=False, max_length=200),
        ),
        migrations.AddField(
            model_name="historicalfill",
            name="found_right",
            field=models.CharField(blank=True, editable=False, max_length=200),
        ),
        migrations.AddField(
            model_name="historicalteachingrecord",
            name="found_right",
            field=models.CharField(blank=True, editable=False, max_length=200),
        ),
        migrations.AddField(
            model_name="teachingrecord",
            name="found_right",
            field=models.CharField(blank=True, editable=False, max_length=200),
        ),
        migrations.AddField(
            model_name="costentry",
            name="batch",
            field=models.ForeignKey(
                editable=False,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="%(class)s_set",
                to="costing.batch",
            ),
        ),
        migrations.AddField(
            model_name="costentry",
            name="replaced_by",
            field=models.ForeignKey(
                editable=False,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="%(class)s_replaced",
                to="costing.batch",
            ),
        ),
        migrations.AddField(
            model_name="fill",
            name="batch",
            field=models.ForeignKey(
                editable=False,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="%(class)s_set",
                to="costing.batch",
            ),
        ),
        migrations.AddField(
            model_name="fill",
            name="replaced_by",
            field=models.ForeignKey(
                editable=False,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="%(class)s_replaced",
                to="costing.batch",
            ),
        ),
        migrations.AddField(
            model_name="historicalcostentry",
            name="batch",
            field=models.ForeignKey(
                blank=True,
                db_constraint=False,
                editable=False,
                null=True,
                on_delete=django.db.models.deletion.DO_NOTHING,
                related_name="+",
                to="costing.batch",
            ),
        ),
        migrations.AddField(
            model_name="historicalcostentry",
            name="replaced_by",
            field=models.ForeignKey(
                blank=True,
                db_constraint=False,
                editable=False,
                null=True,
                on_delete=django.db.models.deletion.DO_NOTHING,
                related_name="+",
                to="costing.batch",
            ),
        ),
        migrations.AddField(
            model_name="historicalfill",
            name="batch",
            field=models.ForeignKey(
                blank=True,
                db_constraint=False,
                editable=False,
                null=True,
                on_delete=django.db.models.deletion.DO_NOTHING,
                related_name="+",
                to="costing.batch",
            ),
        ),
        migrations.AddField(
            model_name="historicalfill",
            name="replaced_by",
            field=models.ForeignKey(
                blank=True,
                db_constraint=False,
                editable=False,
                null=True,
                on_delete=django.db.models.deletion.DO_NOTHING,
                related_name="+",
                to="costing.batch",
            ),
        ),
        migrations.AddField(
            model_name="historicalteachingrecord",
            name="batch",
            field=models.ForeignKey(
                blank=True,
                db_constraint=False,
                editable=False,
                null=True,
                on_delete=django.db.models.deletion.DO_NOTHING,
                related_name="+",
                to="costing.batch",
            ),
        ),
        migrations.AddField(
            model_name="historicalteachingrecord",
            name="replaced_by",
            field=models.ForeignKey(
                blank=True,
                db_constraint=False,
                editable=False,
                null=True,
                on_delete=django.db.models.deletion.DO_NOTHING,
                related_name="+",
                to="costing.batch",
            ),
        ),
        migrations.AddField(
            model_name="teachingrecord",
            name="batch",
            field=models.ForeignKey(
                editable=False,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="%(class)s_set",
                to="costing.batch",
            ),
        ),
        migrations.AddField(
            model_name="teachingrecord",
            name="replaced_by",
            field=models.ForeignKey(
                editable=False,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="%(class)s_replaced",
                to="costing.batch",
            ),
        ),
        migrations.AddConstraint(
            model_name="batch",
            constraint=models.CheckConstraint(
                condition=models.Q(("kind__in", ["week", "import"])), name="batch_kind_known"
            ),
        ),
        migrations.RunPython(ODOMETER.install, ODOMETER.remove, elidable=False),
    ]
