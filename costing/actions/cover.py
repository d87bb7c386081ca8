"""A cost entry that buys cover also moves a due item of its car."""

from datetime import date
from typing import NamedTuple

from costing.models import CostEntry, Entry
from fleet.actions import extend_cover, shorten_cover
from fleet.core.due_kinds import DUE_KINDS
from fleet.models import Car
from instructors.models import Member

#: The kind of due item that each cost category buys cover for.
_COVER_BY = {kind.cost_category: kind.name for kind in DUE_KINDS.values() if kind.is_cover and kind.cost_category}


class Cover(NamedTuple):
    """What a cost bought: a kind of due item, and the first and last day covered."""

    kind: str
    since: date
    until: date


def cover_bought(entry: Entry) -> Cover | None:
    """Return the cover that a standing cost bought; None for a refund or a cost without a due item."""
    if not isinstance(entry, CostEntry) or entry.voided_at is not None:
        return None
    if entry.category not in _COVER_BY or entry.covers_from is None or entry.covers_to is None or entry.amount < 0:
        return None
    return Cover(_COVER_BY[entry.category], entry.covers_from, min(entry.covers_to, entry.ended_on or entry.covers_to))


def move_cover(*, by: Member, car: Car, before: Cover | None, after: Cover | None) -> None:
    """Move the car's due item when one of its costs is logged, corrected or voided.

    Nothing moves if somebody else keeps the car now: its due items are theirs to change.
    """
    if before == after or car.keeper_id != by.pk:
        return
    if before and (not after or after.kind != before.kind or after.until < before.until):
        shorten_cover(by=by, car=car, kind=before.kind, until=_bought_until(car, before.kind), was=before.until)
    if after:
        extend_cover(by=by, car=car, kind=after.kind, since=after.since, until=after.until)


def _bought_until(car: Car, kind: str) -> date | None:
    """Return the last day that the car's standing costs of one kind cover, whoever paid them."""
    costs = CostEntry.objects.standing().filter(
        car=car, category=DUE_KINDS[kind].cost_category, covers_to__isnull=False
    )
    bought = (cover_bought(cost) for cost in costs)
    return max((cover.until for cover in bought if cover), default=None)
