import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    """A step says what was done about a defect, by whom, what showed it, and whether it waits for a second member."""

    dependencies = [
        ("fleet", "0012_notices_of_any_thing"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name="defect",
            name="defect_state_known",
        ),
        migrations.RemoveConstraint(
            model_name="defectstep",
            name="defect_step_state_known",
        ),
        migrations.AddField(
            model_name="defectstep",
            name="becomes",
            field=models.CharField(
                blank=True,
                choices=[
                    ("dangerous", "Dangerous, do not drive"),
                    ("before_next_lesson", "Put right before the next lesson"),
                    ("watch", "Keep an eye on it"),
                ],
                max_length=18,
            ),
        ),
        migrations.AddField(
            model_name="defectstep",
            name="began_with",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to="fleet.defectstep",
            ),
        ),
        migrations.AddField(
            model_name="defectstep",
            name="done_by",
            field=models.CharField(blank=True, max_length=120),
        ),
        migrations.AddField(
            model_name="defectstep",
            name="evidence",
            field=models.CharField(
                blank=True, choices=[("photo", "A photo of the paper"), ("member", "A second member")], max_length=6
            ),
        ),
        migrations.AddField(
            model_name="defectstep",
            name="photo",
            field=models.ForeignKey(
                blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="+", to="fleet.photo"
            ),
        ),
        migrations.AlterField(
            model_name="defect",
            name="state",
            field=models.CharField(
                choices=[
                    ("open", "Open"),
                    ("in_hand", "Being worked on"),
                    ("waiting", "Waits for a second member"),
                    ("closed", "Closed"),
                ],
                default="open",
                max_length=7,
            ),
        ),
        migrations.AlterField(
            model_name="defectstep",
            name="state",
            field=models.CharField(
                choices=[
                    ("open", "Open"),
                    ("in_hand", "Being worked on"),
                    ("waiting", "Waits for a second member"),
                    ("closed", "Closed"),
                ],
                max_length=7,
            ),
        ),
        migrations.AlterField(
            model_name="historicaldefect",
            name="state",
            field=models.CharField(
                choices=[
                    ("open", "Open"),
                    ("in_hand", "Being worked on"),
                    ("waiting", "Waits for a second member"),
                    ("closed", "Closed"),
                ],
                default="open",
                max_length=7,
            ),
        ),
        migrations.AddConstraint(
            model_name="defect",
            constraint=models.CheckConstraint(
                condition=models.Q(("state__in", ["open", "in_hand", "waiting", "closed"])), name="defect_state_known"
            ),
        ),
        migrations.AddConstraint(
            model_name="defect",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("state", "waiting"), _negated=True), ("severity", "dangerous"), _connector="OR"
                ),
                name="defect_waits_only_if_dangerous",
            ),
        ),
        migrations.AddConstraint(
            model_name="defectstep",
            constraint=models.CheckConstraint(
                condition=models.Q(("state__in", ["open", "in_hand", "waiting", "closed"])),
                name="defect_step_state_known",
            ),
        ),
        migrations.AddConstraint(
            model_name="defectstep",
            constraint=models.CheckConstraint(
                condition=models.Q(("becomes__in", ["", "dangerous", "before_next_lesson", "watch"])),
                name="defect_step_becomes_known",
            ),
        ),
        migrations.AddConstraint(
            model_name="defectstep",
            constraint=models.CheckConstraint(
                condition=models.Q(("evidence__in", ["", "photo", "member"])), name="defect_step_evidence_known"
            ),
        ),
    ]
