from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("instructors", "0004_closing_day_and_rounding"),
    ]

    operations = [
        migrations.AddField(
            model_name="cooperative",
            name="coordinators_need_second_factor",
            field=models.BooleanField(default=False),
        ),
    ]
