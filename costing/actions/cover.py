"""A cost entry's cover is a due item of its car too: insurance, vehicle tax and breakdown cover."""

from datetime import date
from typing import NamedTuple

from costing.models import CostEntry, Entry
from fleet.actions import extend_cover, shorten_cover
from fleet.models import Car, DueKind
from instructors.models import Member

#: These due kinds are named as their cost categories are.
COVER_KINDS = frozenset({DueKind.INSURANCE, DueKind.VEHICLE_TAX, DueKind.BREAKDOWN_COVER})


class Cover(NamedTuple):
    """What a cost bought: the kind of due item, and the first and the last day it is met by."""

    kind: str
    since: date
    until: date


def cover_bought(entry: Entry) -> Cover | None:
    """The cover a standing cost bought; None for a refund, or for what is no due item."""
    if not isinstance(entry, CostEntry) or entry.voided_at is not None:
        return None
    if entry.category not in COVER_KINDS or entry.covers_from is None or entry.covers_to is None or entry.amount < 0:
        return None
    return Cover(entry.category, entry.covers_from, min(entry.covers_to, entry.ended_on or entry.covers_to))


def move_cover(*, by: Member, car: Car, before: Cover | None, after: Cover | None) -> None:
    """Move the car's due items as one of its costs is logged, corrected or voided.

    Whoever logged it may have handed the car on since: what is due on it is then no longer theirs to say.
    """
    if before == after or car.keeper_id != by.pk:
        return
    if before and (not after or after.kind != before.kind or after.until < before.until):
        shorten_cover(by=by, car=car, kind=before.kind, until=_bought_until(car, before.kind), was=before.until)
    if after:
        extend_cover(by=by, car=car, kind=after.kind, since=after.since, until=after.until)


def _bought_until(car: Car, kind: str) -> date | None:
    """The last day that the car's standing costs of one kind cover, whoever paid them."""
    costs = CostEntry.objects.standing().filter(car=car, category=kind, covers_to__isnull=False)
    bought = (cover_bought(cost) for cost in costs)
    return max((cover.until for cover in bought if cover), default=None)
