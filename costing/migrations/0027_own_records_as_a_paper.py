"""All that the book holds of a member may be made as a file, as papers are."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("costing", "0026_what_closed_figures_told")]

    operations = [
        migrations.AlterField(
            model_name="paper",
            name="kind",
            field=models.CharField(
                choices=[("statement", "Statement"), ("year", "My year"), ("export", "All my records")], max_length=10
            ),
        ),
    ]
