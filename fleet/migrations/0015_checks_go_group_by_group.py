from django.db import migrations, models

_MODELS = ("walkaroundcheck", "historicalwalkaroundcheck")
_HELP = "For how long its pages were open; empty if that is not known."


class Migration(migrations.Migration):
    """A check is written group by group, so it may be broken off; and it keeps for how long its pages were open."""

    dependencies = [("fleet", "0014_checks_and_completions_are_voided")]

    operations = [
        *(migrations.AddField(model, "is_whole", models.BooleanField(default=True)) for model in _MODELS),
        *(
            migrations.AddField(
                model, "seconds", models.PositiveSmallIntegerField(blank=True, help_text=_HELP, null=True)
            )
            for model in _MODELS
        ),
    ]
