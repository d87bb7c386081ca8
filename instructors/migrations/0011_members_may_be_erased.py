"""A member's row stays when they are erased, and says that they were."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("instructors", "0010_when_the_book_was_cleaned")]

    operations = [
        migrations.AddField(
            model_name="member",
            name="erased_at",
            field=models.DateTimeField(blank=True, editable=False, null=True),
        ),
    ]
