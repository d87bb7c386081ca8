from django.db import migrations, models


class Migration(migrations.Migration):
    """A check or a completion that was entered wrongly is voided; a completion keeps what it moved its item on to."""

    dependencies = [("fleet", "0013_how_a_defect_was_put_right")]

    operations = [
        migrations.RemoveConstraint(
            model_name="completion",
            name="completion_once_a_day",
        ),
        migrations.AddField(
            model_name="completion",
            name="next_due_miles",
            field=models.PositiveIntegerField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="completion",
            name="next_due_on",
            field=models.DateField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="completion",
            name="voided_at",
            field=models.DateTimeField(blank=True, editable=False, null=True),
        ),
        migrations.AddField(
            model_name="historicalcompletion",
            name="next_due_miles",
            field=models.PositiveIntegerField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="historicalcompletion",
            name="next_due_on",
            field=models.DateField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="historicalcompletion",
            name="voided_at",
            field=models.DateTimeField(blank=True, editable=False, null=True),
        ),
        migrations.AddField(
            model_name="historicalwalkaroundcheck",
            name="voided_at",
            field=models.DateTimeField(blank=True, editable=False, null=True),
        ),
        migrations.AddField(
            model_name="walkaroundcheck",
            name="voided_at",
            field=models.DateTimeField(blank=True, editable=False, null=True),
        ),
        migrations.AddConstraint(
            model_name="completion",
            constraint=models.UniqueConstraint(
                condition=models.Q(("voided_at__isnull", True)),
                fields=("due_item", "done_on"),
                name="completion_once_a_day",
            ),
        ),
    ]
