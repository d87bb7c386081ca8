"""Which payments of what repeats are settled by costs logged by hand, told from the histories of a book from before."""

from collections.abc import Iterator
from datetime import date, datetime
from typing import Any

from django.db import migrations
from django.utils import timezone

from costing.core.repeats import made_ref

_TAKEN = ": taken as the one you logged on "


def tell(apps: Any, _editor: Any) -> None:
    """Write a row of each payment for which the history of its repeat says that a standing cost was taken."""
    settled_dues, history = (apps.get_model("costing", name) for name in ("SettledDue", "HistoricalSettledDue"))
    for cost, repeat, due_on, amount in _taken(apps):
        fields = {"cost_id": cost.pk, "repeat_id": repeat.pk, "member_id": repeat.member_id, "due_on": due_on}
        if settled_dues.objects.filter(repeat=repeat, due_on=due_on).exists():
            continue
        apps.get_model("costing", "CostEntry").objects.filter(pk=cost.pk).update(repeat=repeat)
        row = settled_dues.objects.create(**fields, amount=amount)
        reason = "Told from the histories"
        dated = {"history_date": timezone.now(), "history_type": "+", "history_change_reason": reason}
        history.objects.create(id=row.pk, **fields, amount=amount, **dated)


def _taken(apps: Any) -> Iterator[tuple[Any, Any, date, Any]]:
    """Yield what the schedule took for a payment: the cost, its repeat, the due day and the payment's own sum.

    A payment that was made all the same, later, is left out, and so is a cost of which nobody can say that it was it.
    """
    rows = apps.get_model("costing", "HistoricalRepeat").objects.filter(history_change_reason__contains=_TAKEN)
    costs = apps.get_model("costing", "CostEntry").objects.filter(voided_at=None)
    for row in rows.order_by("history_date", "history_id"):
        repeat = apps.get_model("costing", "Repeat").objects.filter(pk=row.id).first()
        due_on, paid_on = map(_day, row.history_change_reason.split(_TAKEN))
        if repeat is None or due_on is None or costs.filter(ref=made_ref(repeat.ref, due_on)).exists():
            continue
        of_sort = {"member_id": repeat.member_id, "car_id": repeat.car_id, "category": repeat.category}
        then = apps.get_model("costing", "HistoricalCostEntry").objects.filter(paid_on=paid_on, amount=row.amount)
        found = costs.filter(pk__in=then.filter(**of_sort).values("id"), repeat=None, amount__gt=0, **of_sort)
        if cost := found.order_by("-pk").first():
            yield cost, repeat, due_on, row.amount


def _day(words: str) -> date | None:
    try:
        return datetime.strptime(words, "%d %B %Y").date()  # noqa: DTZ007 - a day has no time zone
    except ValueError:
        return None


class Migration(migrations.Migration):
    dependencies = [("costing", "0029_payments_settled_by_hand")]

    operations = [migrations.RunPython(tell, migrations.RunPython.noop, elidable=True)]
