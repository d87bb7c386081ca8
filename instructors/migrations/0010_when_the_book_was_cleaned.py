"""When each sort of thing that the book need not keep was last deleted."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("instructors", "0009_backups_are_noted")]

    operations = [
        migrations.CreateModel(
            name="Cleaning",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("name", models.SlugField(max_length=40, unique=True)),
                ("at", models.DateTimeField()),
                ("count", models.PositiveIntegerField(default=0, help_text="How much was deleted then.")),
            ],
            options={"ordering": ["name"]},
        ),
    ]
