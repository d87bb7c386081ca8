"""The history of a due item says which of its days follow from costs; in a book from before, it is told from theirs."""

from datetime import timedelta
from typing import Any

from django.db import migrations

_PAID = "Paid for by a cost"
_LOADED, _PAID_IN_ARCHIVE = (
    "Loaded from an archive",
    "Taken from the cover of a cost entry that was loaded from an archive",
)
#: The category of a cost and the kind of due item that it moves have one name.
_KINDS = ("insurance", "vehicle_tax", "breakdown_cover")
#: A cost and the due item that it moves are saved in one transaction, one after the other.
_AT_ONCE = timedelta(seconds=5)


def tell(apps: Any, _editor: Any) -> None:
    """Mark the days of due items that a cost saved, and those that an archive brought with such a cost."""
    due_rows = apps.get_model("fleet", "HistoricalDueItem").objects
    costs = apps.get_model("costing", "HistoricalCostEntry").objects.filter(
        category__in=_KINDS, covers_to__isnull=False, amount__gte=0, voided_at__isnull=True
    )
    for cost in costs.iterator():
        until = min(cost.covers_to, cost.ended_on or cost.covers_to)
        rows = due_rows.filter(car_id=cost.car_id, kind=cost.category, due_on=until)
        saved = rows.filter(history_date__range=(cost.history_date, cost.history_date + _AT_ONCE))
        saved.filter(history_change_reason__isnull=True).update(history_change_reason=_PAID)
        if cost.history_change_reason == _LOADED:
            rows.filter(history_change_reason=_LOADED).update(history_change_reason=_PAID_IN_ARCHIVE)


class Migration(migrations.Migration):
    dependencies = [
        ("costing", "0018_what_falls_due_with_a_repeat"),
        ("fleet", "0015_checks_go_group_by_group"),
    ]

    operations = [migrations.RunPython(tell, migrations.RunPython.noop, elidable=True)]
