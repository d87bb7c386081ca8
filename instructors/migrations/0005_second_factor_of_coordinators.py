from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("instructors", "0002_when_and_what_to_mail"),
    ]

    operations = [
        migrations.AddField(
            model_name="cooperative",
            name="coordinators_need_second_factor",
            field=models.BooleanField(default=False),
        ),
    ]
