"""The printed list of many cars may be made as a paper; what it is narrowed to, and with whose rights it is made."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("costing", "0027_own_records_as_a_paper")]

    operations = [
        migrations.AddField(
            model_name="paper",
            name="asked",
            field=models.CharField(blank=True, db_default="", default="", max_length=2000),
        ),
        migrations.AddField(
            model_name="paper",
            name="of_coordinator",
            field=models.BooleanField(db_default=False, default=False),
        ),
        migrations.AlterField(
            model_name="paper",
            name="kind",
            field=models.CharField(
                choices=[
                    ("statement", "Statement"),
                    ("year", "My year"),
                    ("cars", "Cars"),
                    ("export", "All my records"),
                ],
                max_length=10,
            ),
        ),
    ]
