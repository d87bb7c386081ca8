from django.db import migrations, models

SEVERITIES = [
    ("dangerous", "Dangerous, do not drive"),
    ("before_next_lesson", "Put right before the next lesson"),
    ("watch", "Keep an eye on it"),
]


class Migration(migrations.Migration):
    """Each severity is called the same on pages, in mails and on paper."""

    dependencies = [("fleet", "0006_defect_description")]

    operations = [
        migrations.AlterField(model, "severity", models.CharField(choices=SEVERITIES, max_length=18))
        for model in ("defect", "defectstep", "historicaldefect")
    ]
