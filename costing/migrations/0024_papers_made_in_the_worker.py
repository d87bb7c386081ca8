"""Papers that take longer than a page may, each a row."""

import uuid

import django.db.models.deletion
import django.utils.timezone
from django.conf import settings
from django.db import migrations, models

import costing.models.papers


class Migration(migrations.Migration):
    dependencies = [
        ("costing", "0023_dismissals"),
        ("fleet", "0015_checks_go_group_by_group"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="Paper",
            fields=[
                ("id", models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ("kind", models.CharField(choices=[("statement", "Statement"), ("year", "My year")], max_length=10)),
                ("first", models.DateField()),
                ("last", models.DateField()),
                (
                    "state",
                    models.CharField(
                        choices=[
                            ("queued", "Waiting to be made"),
                            ("making", "Being made"),
                            ("made", "Made"),
                            ("failed", "Not made"),
                        ],
                        default="queued",
                        max_length=10,
                    ),
                ),
                ("page", models.PositiveIntegerField(default=0)),
                ("pages", models.PositiveIntegerField(default=0)),
                ("file", models.FileField(editable=False, upload_to=costing.models.papers.place_of_paper)),
                ("asked_at", models.DateTimeField(default=django.utils.timezone.now)),
                ("made_at", models.DateTimeField(null=True)),
                ("attempt_count", models.PositiveSmallIntegerField(default=0)),
                ("claimed_at", models.DateTimeField(null=True)),
                ("claimed_by", models.CharField(blank=True, max_length=120)),
                ("error", models.CharField(blank=True, max_length=300)),
                (
                    "car",
                    models.ForeignKey(
                        null=True, on_delete=django.db.models.deletion.PROTECT, related_name="+", to="fleet.car"
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
                "ordering": ["-asked_at"],
                "indexes": [
                    models.Index(fields=["member", "-asked_at"], name="paper_of_member"),
                    models.Index(
                        condition=models.Q(("state__in", ("queued", "making"))),
                        fields=["asked_at"],
                        name="paper_to_make",
                    ),
                ],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("first__lte", models.F("last"))), name="paper_days_in_order"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("state", "made"), _negated=True),
                            models.Q(models.Q(("file", ""), _negated=True), ("made_at__isnull", False)),
                            _connector="OR",
                        ),
                        name="paper_made_has_its_file",
                    ),
                ],
            },
        ),
    ]
