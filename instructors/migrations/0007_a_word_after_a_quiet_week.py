"""Members may be told after a week without an entry."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("instructors", "0006_rent_or_own_is_open"),
    ]

    operations = [
        migrations.AddField(
            model_name="member",
            name="wants_log_mail",
            field=models.BooleanField(default=True),
        ),
    ]
