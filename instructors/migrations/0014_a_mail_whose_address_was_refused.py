from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("instructors", "0013_where_files_lie_and_which_are_lost"),
    ]

    operations = [
        migrations.AddField(
            model_name="actmail",
            name="address_refused",
            field=models.BooleanField(db_default=False, default=False),
        ),
    ]
