"""Since when the book does not know of what may put a car off the road: written down when a plan first sees it."""

from collections.abc import Mapping
from datetime import date

from fleet.models import UnknownSpell
from fleet.queries import DueReport
from fleet.reminders.matters import is_told_unknown

#: By the id of the car, and the kind.
Since = Mapping[tuple[int, str], date]


def unknown_since() -> Since:
    """Since when each item is not known, as far as a plan has seen it."""
    return {
        (car_id, kind): since for car_id, kind, since in UnknownSpell.objects.values_list("car_id", "kind", "since")
    }


def note_unknowns(report: DueReport) -> Since:
    """Write down what ``report``, which is of all cars, does not know, and forget what it knows now.

    Call it in a transaction.
    """
    unknown = {
        (line.subject.car.pk, line.kind.name) for line in report.lines() if line.subject.car and is_told_unknown(line)
    }
    before = unknown_since()
    for car_id, kind in sorted(before.keys() - unknown):
        UnknownSpell.objects.filter(car_id=car_id, kind=kind).delete()
    # Two plans at once write the same: whoever comes second changes nothing.
    UnknownSpell.objects.bulk_create(
        [UnknownSpell(car_id=car_id, kind=kind, since=report.on) for car_id, kind in sorted(unknown - before.keys())],
        ignore_conflicts=True,
    )
    return unknown_since()
