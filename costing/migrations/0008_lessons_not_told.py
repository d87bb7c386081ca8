"""Lessons, hours and private miles that were not told are unknown, which is not the same as none."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("costing", "0007_offers_keep_their_letter"),
    ]

    operations = [
        migrations.AlterField(
            model_name="historicalteachingrecord",
            name="lesson_count",
            field=models.PositiveSmallIntegerField(blank=True, null=True),
        ),
        migrations.AlterField(
            model_name="historicalteachingrecord",
            name="minutes",
            field=models.PositiveIntegerField(blank=True, null=True),
        ),
        migrations.AlterField(
            model_name="historicalteachingrecord",
            name="private_miles",
            field=models.PositiveIntegerField(blank=True, null=True),
        ),
        migrations.AlterField(
            model_name="teachingrecord",
            name="lesson_count",
            field=models.PositiveSmallIntegerField(blank=True, null=True),
        ),
        migrations.AlterField(
            model_name="teachingrecord",
            name="minutes",
            field=models.PositiveIntegerField(blank=True, null=True),
        ),
        migrations.AlterField(
            model_name="teachingrecord",
            name="private_miles",
            field=models.PositiveIntegerField(blank=True, null=True),
        ),
    ]
