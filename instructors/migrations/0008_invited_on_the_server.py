"""An invitation may come from whoever runs the server, who need not be a member."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("instructors", "0007_a_word_after_a_quiet_week"),
    ]

    operations = [
        migrations.AlterField(
            model_name="invitation",
            name="invited_by",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="invitations_sent",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
    ]
