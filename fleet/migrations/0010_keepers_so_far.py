from datetime import date, datetime, timedelta
from itertools import pairwise

from django.db import migrations
from django.db.models import Min
from django.utils import timezone


def read_histories(apps, schema_editor):
    """Write the times of each car that was handed over, which only its history told until now.

    The day of a handover, so far both keepers', is the former keeper's.
    """
    KeeperTime = apps.get_model("fleet", "KeeperTime")
    for car in apps.get_model("fleet", "Car").objects.annotate(first_read_on=Min("odometer_readings__read_on")):
        first = min(filter(None, [car.in_service_from, car.first_read_on]))
        rows = apps.get_model("fleet", "HistoricalCar").objects.filter(id=car.pk).order_by("history_date", "history_id")
        keepers = list(rows.values_list("keeper_id", "history_date"))
        if len({keeper_id for keeper_id, _ in keepers}) < 2:
            continue
        starts = _starts(keepers, first)
        ends = [later - timedelta(days=1) for _, later in starts[1:]]
        for (keeper_id, from_on), to_on in zip(starts, [*ends, None], strict=True):
            KeeperTime.objects.create(car=car, keeper_id=keeper_id, from_on=from_on, to_on=to_on)


def _starts(keepers: list[tuple[int, datetime]], first: date) -> list[tuple[int, date]]:
    """Each keeper in turn with the first day of their time; who had the car for no whole day is left out."""
    starts = [(keepers[0][0], first)]
    for (before, _), (keeper_id, changed_at) in pairwise(keepers):
        if keeper_id == before:
            continue
        from_on = max(timezone.localdate(changed_at) + timedelta(days=1), first + timedelta(days=1))
        while starts[-1][1] >= from_on:
            starts.pop()
        if starts[-1][0] != keeper_id:
            starts.append((keeper_id, from_on))
    return starts


class Migration(migrations.Migration):
    """The times of the cars that were handed over before times were records."""

    dependencies = [("fleet", "0009_keeper_times")]

    operations = [migrations.RunPython(read_histories, migrations.RunPython.noop)]
