"""The category of what was last taken from a bank statement, by payee."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("costing", "0016_receipts"),
    ]

    operations = [
        migrations.CreateModel(
            name="Payee",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("name", models.CharField(max_length=120)),
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
                    "member",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
            ],
            options={
                "ordering": ["member", "name"],
            },
        ),
        migrations.AddConstraint(
            model_name="payee",
            constraint=models.UniqueConstraint(fields=("member", "name"), name="payee_once_a_member"),
        ),
        migrations.AddConstraint(
            model_name="payee",
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
                name="payee_category_known",
            ),
        ),
    ]
