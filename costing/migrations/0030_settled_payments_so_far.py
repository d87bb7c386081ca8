"""Which payments of what repeats are settled by costs logged by hand, told from the histories of a book from before."""

from collections.abc import Iterator
from datetime import date, datetime
from itertools import chain
from typing import Any, cast

from django.db import migrations
from django.utils import timezone

from costing.core.money import to_pence, to_pounds
from costing.core.periods import ONE_DAY, Every
from costing.core.repeats import Repeating, dues_between, made_ref

_IN_PLACE, _TAKEN, _AGAIN = "In place of the payment of ", ": taken as the one you logged on ", ": due again"


def tell(apps: Any, _editor: Any) -> None:
    """Write a row of each payment for which a standing cost is said to stand: by its own history, or its repeat's."""
    settled_dues, history = (apps.get_model("costing", name) for name in ("SettledDue", "HistoricalSettledDue"))
    told: set[tuple[int, date]] = set()
    for cost, repeat, due_on, amount in chain(_in_place(apps), _taken(apps)):
        if (repeat.pk, due_on) in told or settled_dues.objects.filter(cost=cost).exists():
            continue
        told.add((repeat.pk, due_on))
        apps.get_model("costing", "CostEntry").objects.filter(pk=cost.pk).update(repeat=repeat)
        fields = {"cost_id": cost.pk, "repeat_id": repeat.pk, "member_id": repeat.member_id, "due_on": due_on}
        row = settled_dues.objects.create(**fields, amount=amount)
        reason = "Told from the histories"
        dated = {"history_date": timezone.now(), "history_type": "+", "history_change_reason": reason}
        history.objects.create(id=row.pk, **fields, amount=amount, **dated)


def _in_place(apps: Any) -> Iterator[tuple[Any, Any, date, Any]]:
    """Yield what was logged in place of a payment: the cost, its repeat, the due day and the payment's own sum."""
    costs = apps.get_model("costing", "CostEntry").objects
    rows = apps.get_model("costing", "HistoricalCostEntry").objects.filter(history_change_reason__startswith=_IN_PLACE)
    for row in rows.order_by("history_date", "history_id"):
        cost = costs.filter(pk=row.id, voided_at=None, repeat__isnull=False).select_related("repeat").first()
        due_on = _day(row.history_change_reason.removeprefix(_IN_PLACE))
        if cost and due_on:
            made = costs.filter(ref=made_ref(cost.repeat.ref, due_on)).first()
            amount = made.amount if made else _sum_then(apps, cost.repeat, row, due_on)
            yield cost, cost.repeat, due_on, amount or cost.amount


def _sum_then(apps: Any, repeat: Any, cost: Any, due_on: date) -> Any:
    """Return what the payment came to when the cost was logged in its place; None if it cannot be told."""
    rows = apps.get_model("costing", "HistoricalRepeat").objects.filter(id=repeat.pk)
    # Its repeat was saved right after the cost, with the new sum if that counted by then.
    terms = rows.filter(history_date__gte=cost.history_date).order_by("history_date", "history_id").first() or repeat
    repeating = Repeating(
        terms.starts_on,
        cast(Every, terms.interval),
        to_pence(terms.amount),
        terms.payments,
        terms.in_arrears,
        to_pence(terms.fees) if terms.fees else 0,
        to_pence(terms.final_payment) if terms.final_payment else 0,
    )
    return next((to_pounds(due.amount) for due in dues_between(repeating, due_on - ONE_DAY, due_on)), None)


def _taken(apps: Any) -> Iterator[tuple[Any, Any, date, Any]]:
    """Yield what the schedule took for a payment of the same sum, unless that fell due again."""
    repeats = apps.get_model("costing", "Repeat").objects
    rows = apps.get_model("costing", "HistoricalRepeat").objects
    said = rows.filter(history_change_reason__contains=_TAKEN) | rows.filter(history_change_reason__endswith=_AGAIN)
    last: dict[tuple[int, str], str] = {}
    for pk, words in said.order_by("history_date", "history_id").values_list("id", "history_change_reason"):
        due, _, on = words.partition(_TAKEN)
        last[pk, due.removesuffix(_AGAIN)] = on
    for (pk, due), on in last.items():
        repeat, due_on, paid_on = repeats.filter(pk=pk).first(), _day(due), _day(on)
        if repeat and due_on and paid_on:
            yield from _logged_on(apps, repeat, due_on, paid_on)


def _logged_on(apps: Any, repeat: Any, due_on: date, paid_on: date) -> Iterator[tuple[Any, Any, date, Any]]:
    """Yield the standing cost that was logged by hand on a day, and that a repeat of that sort may have taken."""
    of_sort = {"member_id": repeat.member_id, "car_id": repeat.car_id, "category": repeat.category}
    then = apps.get_model("costing", "HistoricalCostEntry").objects.filter(paid_on=paid_on, amount__gt=0, **of_sort)
    standing = apps.get_model("costing", "CostEntry").objects.filter(voided_at=None, repeat=None, amount__gt=0)
    found = standing.filter(pk__in=then.values("id"), **of_sort).order_by("-pk")
    if cost := found.filter(amount=repeat.amount).first() or found.first():
        yield cost, repeat, due_on, then.filter(id=cost.pk).order_by("history_date", "history_id")[0].amount


def _day(words: str) -> date | None:
    try:
        return datetime.strptime(words, "%d %B %Y").date()  # noqa: DTZ007 - a day has no time zone
    except ValueError:
        return None


class Migration(migrations.Migration):
    dependencies = [("costing", "0029_payments_settled_by_hand")]

    operations = [migrations.RunPython(tell, migrations.RunPython.noop, elidable=True)]
