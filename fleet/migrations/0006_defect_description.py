from django.db import migrations


class Migration(migrations.Migration):
    """What is wrong with a car is the description of the defect; the words of a step are what was said of it."""

    dependencies = [("fleet", "0005_calendar_feeds")]

    operations = [
        migrations.RenameField("defect", "words", "description"),
        migrations.RenameField("historicaldefect", "words", "description"),
    ]
