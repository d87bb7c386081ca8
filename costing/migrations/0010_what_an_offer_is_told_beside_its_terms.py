"""What an offer is told beside its terms: its fuel, whether it is a car one has, and where its figures came from."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("costing", "0009_closed_anew"),
        ("fleet", "0015_checks_go_group_by_group"),
    ]

    operations = [
        migrations.AddField(
            model_name="offer",
            name="burns",
            field=models.CharField(
                blank=True,
                choices=[
                    ("petrol", "Petrol"),
                    ("diesel", "Diesel"),
                    ("hybrid", "Hybrid"),
                    ("plugin_hybrid", "Plug-in hybrid"),
                    ("electric", "Electric"),
                ],
                max_length=13,
            ),
        ),
        migrations.AddField(
            model_name="offer",
            name="kept",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="kept_offers",
                to="fleet.car",
            ),
        ),
        migrations.AddField(
            model_name="offer",
            name="look_over",
            field=models.JSONField(blank=True, default=dict),
        ),
        migrations.AddField(
            model_name="offer",
            name="sources",
            field=models.JSONField(blank=True, default=dict),
        ),
        migrations.AddConstraint(
            model_name="offer",
            constraint=models.CheckConstraint(
                condition=models.Q(("burns__in", ["", "petrol", "diesel", "hybrid", "plugin_hybrid", "electric"])),
                name="offer_burns_known",
            ),
        ),
    ]
