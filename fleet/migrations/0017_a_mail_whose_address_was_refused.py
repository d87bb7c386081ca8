from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("fleet", "0016_what_watches_over_duty"),
    ]

    operations = [
        migrations.AddField(
            model_name="remindermail",
            name="address_refused",
            field=models.BooleanField(db_default=False, default=False),
        ),
    ]
