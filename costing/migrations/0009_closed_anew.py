"""Every month is closed anew, once: the figures so far were worked out before all that they rest on had come in.

The next run of the schedule, or `group_median`, closes all months that are past their closing day.
"""

from django.apps.registry import Apps
from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor


def forget_closings(apps: Apps, _: BaseDatabaseSchemaEditor) -> None:
    """Remove the stored figures of all closed months."""
    apps.get_model("costing", "GroupFigure").objects.all().delete()


class Migration(migrations.Migration):
    dependencies = [("costing", "0008_lessons_not_told")]

    operations = [migrations.RunPython(forget_closings, migrations.RunPython.noop)]
