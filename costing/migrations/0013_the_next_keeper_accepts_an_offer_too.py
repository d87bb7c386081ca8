"""A car that one member's offer became may, once it is handed over, be what the next keeper's offer becomes."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("costing", "0012_comparisons_are_read_by_the_new_rules"),
        ("fleet", "0015_checks_go_group_by_group"),
    ]

    operations = [
        migrations.AlterField(
            model_name="offer",
            name="car",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="accepted_offers",
                to="fleet.car",
            ),
        )
    ]
