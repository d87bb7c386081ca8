"""Pictures of what was paid."""

import uuid

import django.db.models.deletion
import django.utils.timezone
from django.conf import settings
from django.db import migrations, models

import costing.models.receipts


class Migration(migrations.Migration):
    dependencies = [
        ("costing", "0015_costs_that_repeat"),
    ]

    operations = [
        migrations.CreateModel(
            name="Receipt",
            fields=[
                ("id", models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ("position", models.PositiveSmallIntegerField()),
                ("picture", models.FileField(editable=False, upload_to=costing.models.receipts.place_of_receipt)),
                ("thumbnail", models.FileField(editable=False, upload_to=costing.models.receipts.place_of_thumbnail)),
                ("size", models.PositiveIntegerField()),
                ("created_at", models.DateTimeField(default=django.utils.timezone.now, editable=False)),
                (
                    "cost",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="receipts",
                        to="costing.costentry",
                    ),
                ),
                (
                    "fill",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="receipts",
                        to="costing.fill",
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
                "ordering": ["position", "created_at"],
            },
        ),
        migrations.AddIndex(
            model_name="receipt",
            index=models.Index(fields=["member"], name="receipt_of_member"),
        ),
        migrations.AddConstraint(
            model_name="receipt",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("cost__isnull", False), ("fill__isnull", True)),
                    models.Q(("cost__isnull", True), ("fill__isnull", False)),
                    _connector="OR",
                ),
                name="receipt_of_a_cost_or_a_fill",
            ),
        ),
    ]
