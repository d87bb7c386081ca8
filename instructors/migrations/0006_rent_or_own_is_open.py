from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("instructors", "0005_second_factor_of_coordinators"),
    ]

    operations = [
        migrations.AddField(
            model_name="cooperative",
            name="rent_or_own_is_open",
            field=models.BooleanField(
                default=True,
                help_text="Whether anybody may ask the public page whether renting or a car of their own is cheaper.",
            ),
        ),
    ]
