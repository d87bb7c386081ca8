"""All that the book holds of a member may be made as a file, as papers are."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("costing", "0025_fills_of_a_car_by_unit")]

    operations = [
        migrations.AlterField(
            model_name="paper",
            name="kind",
            field=models.CharField(
                choices=[("statement", "Statement"), ("year", "My year"), ("export", "All my records")], max_length=10
            ),
        ),
    ]
